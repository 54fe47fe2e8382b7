"""The one way the house says no: a code for programs, a sentence and a cure for people."""

from __future__ import annotations

from enum import Enum


class Kind(Enum):
    """What a refusal is about, for whoever has to answer a program."""

    INVALID = "invalid"
    """What was sent can't be used, whatever the state of the shop."""
    NOT_FOUND = "not_found"
    """It names something that is not there."""
    CONFLICT = "conflict"
    """The state of the piece, the ticket or the shop forbids it."""


class Refused(Exception):
    """A move or an input the rules do not allow; nothing was changed.

    ``code`` is stable and short, ``says`` names the value and the place, ``cure`` what to do,
    ``kind`` how to answer a program.
    """

    def __init__(self, code: str, says: str, cure: str = "", kind: Kind = Kind.CONFLICT) -> None:
        super().__init__(f"{says} {cure}".strip())
        self.code = code
        self.says = says
        self.cure = cure
        self.kind = kind
