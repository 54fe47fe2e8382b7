"""The one way the house says no: a code for programs, a sentence and a cure for people."""

from __future__ import annotations


class Refused(Exception):
    """A move or an input the rules do not allow; nothing was changed.

    ``code`` is stable and short, ``says`` names the value and the place, ``cure`` what to do.
    """

    def __init__(self, code: str, says: str, cure: str = "") -> None:
        super().__init__(f"{says} {cure}".strip())
        self.code = code
        self.says = says
        self.cure = cure
