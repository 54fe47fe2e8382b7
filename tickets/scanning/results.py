"""The answer to one scanned line, and what waits for the next one."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from care_rules import JsonObject
from tickets.errors import Kind

GOOD, SAME, ASK, BAD = "good", "same", "ask", "bad"
"""Done; nothing new to do; one more line needed; refused."""

YES, NO = "YES", "NO"
WET_CHECK, RACK = "wet_check", "rack"
PLACE_PREFIX, STATION_PREFIX = "RACK ", "STATION "
EXPIRES_AFTER = timedelta(minutes=5)


@dataclass(frozen=True)
class Pending:
    """What waits for the next line: ``wet_check`` for an answer, ``rack`` for a place."""

    kind: str
    codes: tuple[str, ...]
    since: str

    @property
    def about(self) -> str:
        """Names this one question, so that an answer to an earlier one is known as such."""
        return f"{self.since} {' '.join(self.codes)}"

    @property
    def spoken(self) -> str:
        """The numbers of its pieces as people say them."""
        return ", ".join(f"{code[:7]}-{code[7:9]}" for code in self.codes)

    def as_json(self) -> JsonObject:
        return {**asdict(self), "codes": list(self.codes)}

    @classmethod
    def from_json(cls, stored: JsonObject | None, now: datetime) -> Pending | None:
        """The stored value, or None where there is none or it is too old."""
        if not stored:
            return None
        if now - datetime.fromisoformat(stored["since"]) > EXPIRES_AFTER:
            return None
        return cls(stored["kind"], tuple(stored["codes"]), stored["since"])


@dataclass(frozen=True)
class Scanned:
    """The answer to one line. ``go_to`` names the board that a station card asks for.

    ``code`` is the stable word of a refusal and ``kind`` its kind, as in ``Refused``.
    """

    tone: str
    says: str
    cure: str = ""
    piece: str = ""
    ticket: int | None = None
    pending: Pending | None = None
    go_to: str = ""
    repeated: bool = False
    code: str = ""
    kind: Kind = Kind.CONFLICT
