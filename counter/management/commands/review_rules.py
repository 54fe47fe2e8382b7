"""Lists the care rules that still need a source in hand."""

from __future__ import annotations

from collections import Counter

from django.core.management.base import BaseCommand, CommandParser

import care_rules
from care_rules.vocabulary import STATUSES


class Command(BaseCommand):
    help = "Print the care rules of one status, by table, for checking against their sources."
    requires_system_checks: tuple[str, ...] = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--status",
            choices=STATUSES,
            default="memory",
            help="memory (the default) lists what is still to be checked in a source",
        )

    def handle(self, *args: object, status: str, **options: object) -> None:
        rows = care_rules.review_rows(status)
        counts = Counter(row.table for row in rows)
        for table, count in counts.items():
            self.stdout.write(f"{table}: {count}")
            for row in rows:
                if row.table == table:
                    self.stdout.write(f"  {row.key}: {row.source} ({row.clause})")
        self.stdout.write(
            f"{len(rows)} rules of status {status} in tables {care_rules.TABLES_VERSION}."
        )
