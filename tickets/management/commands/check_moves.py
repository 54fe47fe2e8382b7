"""Prove that every stored piece is what its moves say."""

from __future__ import annotations

import sys

from django.core.management.base import BaseCommand

from tickets.models import Move, Piece
from tickets.tracking import replay


class Command(BaseCommand):
    help = "Rebuild every piece from its moves and compare. Exit status 1 when anything differs."

    def handle(self, *args: object, **options: object) -> None:
        differences = 0
        for difference in replay.differences():
            differences += 1
            self.stdout.write(str(difference))
        if differences:
            self.stderr.write(
                f"{differences} found. Something wrote past the moves: "
                "compare with a backup before anything is moved again."
            )
            sys.exit(1)
        self.stdout.write(
            f"{Piece.objects.count()} pieces agree with their {Move.objects.count()} moves."
        )
