"""``manage.py learn``: the margin of the promises, from the tickets of before today, and how the
rows that the database holds by now are spread."""

from __future__ import annotations

import os
import sys
import threading
from argparse import ArgumentParser

from django.core.management.base import BaseCommand
from django.utils import timezone

from tickets.promise.services import learn_margin
from tickets.writing import sample_indexes


class Command(BaseCommand):
    help = (
        "Learn from past tickets how much later than reckoned to promise. `serve` runs it at its "
        "start and at night; beside another server run it once a night."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--beside-a-server", action="store_true", help="stop when the input is closed"
        )

    def handle(self, *args: object, **options: object) -> None:
        if options["beside_a_server"]:
            threading.Thread(target=_stop_with_the_server, daemon=True).start()
        margin = learn_margin(timezone.now())
        if margin is None:
            self.stdout.write("Learned for today already, or being learned by another process.")
        else:
            sample_indexes()
            self.stdout.write(f"Learned from {margin.tickets} tickets.")


def _stop_with_the_server() -> None:
    """Whoever stops a server may copy its database next, and nobody writes to it then."""
    sys.stdin.read()
    os._exit(1)
