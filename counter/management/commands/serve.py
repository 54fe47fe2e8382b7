"""``manage.py serve``: one waitress process, so that one fair queue orders all SQLite writes."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from waitress import serve

from counter.wsgi import application


class Command(BaseCommand):
    help = "Serve the shop with waitress."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=8)

    def handle(self, *args: object, **options: object) -> None:
        try:
            serve(
                application,
                host=options["host"],
                port=options["port"],
                threads=options["threads"],
                ident="garment-counter",
            )
        except OSError as fault:
            raise CommandError(
                f"Port {options['port']} on {options['host']} can't be used ({fault.strerror}). "
                "Choose another with --port."
            ) from fault
