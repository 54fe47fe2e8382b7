"""What one tag says, checked before it is drawn."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from tickets.numbers import PieceCode, parse_code
from tickets.printing.sizes import PaperError

MOST_LIMITS = 3


@dataclass(frozen=True, slots=True)
class TagData:
    """What one tag says; every text is already in the shop's language.

    ``code`` is the piece's ten digits, ``promise_day`` a day in words, ``limits`` up to
    three short sentences, strongest first, ``set_mark`` the letter that ties a set or "".
    Raises PaperError or NumberError when a value cannot stand on a tag.
    """

    code: str
    customer_short: str
    promise_day: str
    limits: tuple[str, ...]
    set_mark: str
    position: int
    count: int
    kind: str
    shop_name: str

    def __post_init__(self) -> None:
        if not isinstance(parse_code(self.code), PieceCode) or "-" in self.code:
            raise PaperError(
                _("Tag number “%(code)s”: a tag needs the ten digits of a piece.")
                % {"code": self.code}
            )
        if len(self.limits) > MOST_LIMITS:
            raise PaperError(
                _("Tag %(code)s has %(count)s limits. Give the three strongest only.")
                % {"code": self.code, "count": len(self.limits)}
            )
        if not 1 <= self.position <= self.count:
            raise PaperError(
                _("Tag %(code)s is piece %(position)s of %(count)s. Count the pieces again.")
                % {"code": self.code, "position": self.position, "count": self.count}
            )
