"""The main job as data: three pieces in the words of the pages, and the way each must take."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, Page, Route

from tests.tickets.printing import reading

NAME, PHONE = "Ada Brook", "01632 960123"  # range reserved for fiction
TOTAL = "£29.70"
"""8.00 and 4.20 for cleaning with pressing, 14.00 for the hem, 3.50 for pressing it."""


@dataclass(frozen=True)
class Garment:
    """What is answered about one piece. Each word stands on the page as it stands here."""

    kind: str
    colour: str
    construction: str
    fibres: tuple[tuple[str, str], ...]
    mix: str
    symbols: tuple[tuple[str, str], ...]
    services: tuple[str, ...]
    process: str
    pockets: str = "Empty"
    fastenings: str = "Tried, they work"
    stains: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    way: tuple[str, ...] = field(default=())
    """Stations from intake on, where every question of a wet check is answered with yes."""


JUMPER = Garment(
    kind="wool jumper",
    colour="Pastel",
    construction="Knitted",
    fibres=(("wool", "100"),),
    mix="100 % wool",
    symbols=(
        ("wash", "wash 30 °C, very mild"),
        ("bleach", "do not bleach"),
        ("tumble_dry", "do not tumble dry"),
        ("natural_dry", "dry flat"),
        ("iron", "iron low, one dot"),
    ),
    services=("Clean", "Press"),
    process="Machine wash",
    pockets="Has no pockets",
    fastenings="Has none",
    way=("Intake", "Wash", "Dry", "Press", "Check"),
)
SHIRT = Garment(
    kind="cotton shirt",
    colour="White",
    construction="Woven",
    fibres=(("cotton", "100"),),
    mix="100 % cotton",
    symbols=(
        ("wash", "wash 60 °C"),
        ("bleach", "any bleach"),
        ("tumble_dry", "tumble dry, two dots"),
        ("iron", "iron hot, three dots"),
    ),
    services=("Clean", "Press"),
    process="Machine wash",
    stains=("red wine",),
    way=("Intake", "Spotting", "Wash", "Dry", "Press", "Check"),
)
TROUSERS = Garment(
    kind="cotton trousers",
    colour="Dark",
    construction="Woven",
    fibres=(("cotton", "98"), ("elastane", "2")),
    mix="98/2 cotton, elastane",
    symbols=(
        ("wash", "wash 40 °C, mild"),
        ("bleach", "do not bleach"),
        ("iron", "iron medium, two dots"),
    ),
    services=("Press", "Alter"),
    process="No cleaning",
    work=("Shorten trousers, plain hem",),
    way=("Intake", "Bench", "Press", "Check"),
)
PIECES = (JUMPER, SHIRT, TROUSERS)

WET_CHECK_AT = "Wash"
"""The wet piece is looked at beside the machine, before any heat."""

AGAIN = ("Spotting", "Wash")
"""What the shirt passes once more after the first look at the wet piece says “still there”."""


def passages() -> tuple[Counter[str], Counter[str]]:
    """How often a piece comes to and leaves each station on the day of this one ticket.

    Counted from the ways above: each piece leaves every station of its way, the shirt two of
    them twice; then all pass assembly and rack, come to pickup and leave it with the customer.
    """
    left: Counter[str] = Counter(station for garment in PIECES for station in garment.way)
    left.update(AGAIN)
    left.update({"Assembly": 3, "Rack": 3, "Pickup": 3})
    return Counter(left), left


class Papers:
    """Keeps every PDF that a page of this browser asks for, as the print window would get it.

    The request is the one of the real form or link. The window itself stays empty, because
    browsers differ in how they show a PDF.
    """

    def __init__(self, context: BrowserContext) -> None:
        self._context = context
        self._last: bytes | None = None
        context.route("**/*.pdf*", self._keep)

    def _keep(self, route: Route) -> None:
        answer = route.fetch()
        if answer.headers.get("content-type") == "application/pdf":
            self._last = answer.body()
            route.fulfill(status=200, content_type="text/plain", body="printed")
        else:
            route.fulfill(response=answer)

    def after(self, page: Page) -> bytes:
        """The PDF that just opened in a window of its own; closes the window."""
        pdf, self._last = self._last, None
        assert pdf is not None, f"no paper came from {page.url}"
        page.close()
        return pdf


def bars(pdf: bytes, dpi: int = 203) -> list[str]:
    """The text of every Code 128 on a paper, in the order of its pages."""
    return [
        text
        for image in reading.images(pdf, dpi)
        for kind, text in reading.codes(image)
        if kind == "Code 128"
    ]
