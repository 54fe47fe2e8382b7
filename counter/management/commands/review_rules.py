"""Lists what the care rules claim without a source in hand, cell by cell, the weakest first."""

from __future__ import annotations

from collections import Counter
from itertools import groupby

from django.core.management.base import BaseCommand, CommandParser

import care_rules
from care_rules.provenance import STATUSES


class Command(BaseCommand):
    help = "Print the figures of the care rules that were not read in a source, weakest first."
    requires_system_checks: tuple[str, ...] = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--status",
            choices=STATUSES,
            help="only what is of this status; without it, memory and then practice",
        )
        parser.add_argument(
            "--words", action="store_true", help="names and sentences too, not the figures alone"
        )

    def handle(self, *args: object, status: str | None, words: bool, **options: object) -> None:
        asked = [status] if status else ["memory", "practice"]
        cells = care_rules.review_cells(*asked, words=words)
        for (said, table), of_table in groupby(cells, key=lambda cell: (cell.status, cell.table)):
            self.stdout.write(f"{said}, {table}")
            for rule, parts in groupby(of_table, key=lambda cell: cell.rule):
                claims = [*parts]
                self.stdout.write(f"  {rule}: {claims[0].source}")
                for cell in claims:
                    self.stdout.write(f"    {cell.column}: {cell.value}")
        every = Counter(cell.status for cell in care_rules.review_cells(*STATUSES, words=words))
        counts = ", ".join(f"{every[name]} {name}" for name in STATUSES)
        kind = "cells" if words else "figures"
        self.stdout.write(f"{kind} of tables {care_rules.TABLES_VERSION}: {counts}.")
