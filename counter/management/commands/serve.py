"""``manage.py serve``: one waitress process, so that one fair queue orders all SQLite writes, and
beside it the learning of the promises' margin."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from waitress import serve

from counter.site import learning, static_files


class Command(BaseCommand):
    help = "Serve the shop with waitress."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=8)

    def handle(self, *args: object, **options: object) -> None:
        static_files.collect()
        stop_learning = learning.start_learning()
        try:
            serve(
                get_wsgi_application(),
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
        finally:
            stop_learning.set()
