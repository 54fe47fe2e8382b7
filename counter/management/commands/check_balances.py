"""Prove that what is kept as owed is what lines and payments come to."""

from __future__ import annotations

import sys

from django.core.management.base import BaseCommand, CommandParser

from counter.models import Shop
from counter.money import queries, services
from counter.money.amounts import format_money


class Command(BaseCommand):
    help = (
        "Work out anew what each ticket owes and compare. Exit status 1 when anything differs, "
        "unless --mend writes what is due."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--mend", action="store_true", help="keep what was worked out")

    def handle(self, *args: object, mend: bool = False, **options: object) -> None:
        wrong = services.mend_balances() if mend else queries.wrongly_kept()
        shop = Shop.current()
        for _key, number, kept, due in wrong:
            stored, owed = (
                format_money(queries.of_hundredths(minor), shop) for minor in (kept, due)
            )
            self.stdout.write(f"{number} owed: stored {stored}, lines and payments say {owed}")
        if wrong and not mend:
            self.stderr.write(f"{len(wrong)} found. Look at them, then mend them with --mend.")
            sys.exit(1)
        self.stdout.write(f"{len(wrong)} balances mended." if wrong else "All balances agree.")
