"""Hands the whole command line to the care engine, which needs no database."""

from __future__ import annotations

import sys
from typing import TextIO

from django.core.management.base import BaseCommand

from care_rules import cli


class Command(BaseCommand):
    help = "Decide on the facts in FILE, or - for standard input; prints decisions as JSON."
    requires_system_checks: tuple[str, ...] = ()

    def run_from_argv(self, argv: list[str]) -> None:
        """Past Django's own options: its parser would answer faults in its own way."""
        if set(argv[2:]) & {"-h", "--help"}:
            sys.stdout.write(f"{self.help}\n{cli.USAGE}\n")
            return
        for stream in (sys.stdin, sys.stdout, sys.stderr):
            _speak_utf8(stream)
        sys.exit(cli.run(argv[1:], sys.stdin, sys.stdout, sys.stderr))

    def handle(self, *args: object, **options: object) -> None:
        raise NotImplementedError("decide is run from the shell; programs call care_rules.decide()")


def _speak_utf8(stream: TextIO) -> None:
    """JSON is UTF-8 whatever the shell's language is."""
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(encoding="utf-8")
