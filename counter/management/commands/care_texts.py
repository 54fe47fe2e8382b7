"""Prints the texts of the care tables for translators."""

from __future__ import annotations

from django.core.management.base import BaseCommand

from care_rules import texts


class Command(BaseCommand):
    help = "Print every text of the care tables as a gettext template; makemessages finds the rest."
    requires_system_checks: tuple[str, ...] = ()

    def handle(self, *args: object, **options: object) -> None:
        self.stdout.write(texts.template())
