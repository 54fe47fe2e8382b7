"""Sends what waits in the outbox. Meant for a timer, every few minutes."""

from __future__ import annotations

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from counter.messages import services as notices


class Command(BaseCommand):
    help = "Send the messages to customers that wait, and try failed ones again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--limit", type=int, default=100, help="most messages in one run (default 100)"
        )

    def handle(self, *args: object, limit: int, **options: object) -> None:
        if limit < 1:
            raise CommandError(_("--limit %(limit)d: give a number above zero.") % {"limit": limit})
        sent, failed = notices.send_waiting(limit)
        self.stdout.write(_("%(sent)d sent, %(failed)d failed.") % {"sent": sent, "failed": failed})
        if failed:
            raise CommandError(
                _("%(failed)d messages stay in the outbox with their fault. Run this again later.")
                % {"failed": failed}
            )
