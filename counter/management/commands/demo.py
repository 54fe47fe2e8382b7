"""``manage.py demo``: make the database, fill it with the demo shop and serve it on loopback."""

from __future__ import annotations

from argparse import ArgumentParser

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from counter.demo import services as demo
from counter.demo.services import load_demo
from tickets.models import Piece, Ticket


class Command(BaseCommand):
    help = "Fill an empty database with the demo shop and serve it on this computer only."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="fill, then stop")
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1")

    def handle(self, *args: object, **options: object) -> None:
        call_command("migrate", verbosity=0)
        try:
            filled = load_demo()
        except demo.NotADemo as refusal:
            name = settings.DATABASES["default"]["NAME"]
            raise CommandError(
                f"The database {name} holds real tickets; the demo does not touch it. "
                "Name another one: DATABASE_URL=sqlite:////tmp/demo.sqlite3 "
                "python3 manage.py demo"
            ) from refusal
        if filled:
            self.stdout.write("The demo shop is new:")
        else:
            made = Ticket.objects.order_by("opened_at").last()
            day = timezone.localtime(made.opened_at) if made else timezone.localtime()
            self.stdout.write(f"The demo shop is there already; its last day is {day:%Y-%m-%d}:")
        self.stdout.write(
            f"{Ticket.objects.count()} tickets, {Piece.objects.count()} pieces.\n\n"
            f"  Address   http://127.0.0.1:{options['port']}/\n"
            f"  Counter   rosa     {demo.PASSWORD}   PIN 1357\n"
            f"  Back room imre     {demo.PASSWORD}   PIN 2468\n"
            f"  Owner     tilda    {demo.PASSWORD}   PIN 8642\n"
        )
        if options["no_serve"]:
            return
        self.stdout.write("\nServing on this computer only. Stop with Ctrl-C.")
        call_command("serve", port=options["port"])
