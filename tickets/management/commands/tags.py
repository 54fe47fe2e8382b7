"""Print the tags of a ticket from the shell, the same PDF as the page makes."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import NoReturn

from django.core.management.base import BaseCommand

from tickets.models import Ticket
from tickets.numbers import NumberError, TicketCode, parse_code
from tickets.pieces import services
from tickets.printing import TAG_SIZES, PaperError
from tickets.tracking.queries import ticket_by_number

_REFUSED = 2


class Command(BaseCommand):
    help = "Write a ticket's tags as a PDF and log the print. Exit status 2 on wrong input."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("ticket", nargs="?", help="ticket number, seven digits")
        parser.add_argument("--size", default="", help="name of a tag size; else the shop's own")
        parser.add_argument("--start-at", type=int, default=1, help="first free label of a sheet")
        parser.add_argument("-o", "--output", metavar="FILE", help="PDF to write")
        parser.add_argument("--sizes", action="store_true", help="list the names of the sizes")

    def handle(
        self,
        *args: object,
        ticket: str | None,
        output: str | None,
        size: str,
        start_at: int,
        sizes: bool,
        **options: object,
    ) -> None:
        if sizes:
            for key, tag_size in TAG_SIZES.items():
                self.stdout.write(f"{key}\t{tag_size.title}")
            return
        row = self._ticket(ticket)
        if not output:
            self._refuse("No file was named. Say where the PDF goes with -o FILE.")
        target = Path(output)
        if not target.parent.is_dir():
            self._refuse(f"-o {target}: there is no folder {target.parent}. Make it first.")
        try:
            printed = services.print_tags(row, None, size=size, start_at=start_at)
        except PaperError as fault:
            self._refuse(str(fault))
        try:
            target.write_bytes(printed.pdf)
        except OSError as fault:
            self._refuse(f"-o {target}: {fault.strerror}. Name a file that can be written.")
        kind = "first print" if printed.copy == 1 else f"reprint, copy {printed.copy}"
        self.stdout.write(f"{target}: {row.pieces.count()} tags ({kind})")

    def _ticket(self, text: str | None) -> Ticket:
        if not text:
            self._refuse("No ticket was named. Give its seven digits, or --sizes.")
        try:
            code = parse_code(text)
        except NumberError as fault:
            self._refuse(str(fault))
        if not isinstance(code, TicketCode):
            self._refuse(f"{text} is a piece. Tags are printed for a ticket: {code.ticket}.")
        ticket = ticket_by_number(code.ticket)
        if ticket is None:
            self._refuse(f"There is no ticket {code.ticket}. Read the number again.")
        return ticket

    def _refuse(self, says: str) -> NoReturn:
        self.stderr.write(says)
        sys.exit(_REFUSED)
