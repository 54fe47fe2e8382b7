"""The claim slip: what the customer takes home and brings back.

It lists pieces, services and prices, every caution the customer accepted with who and
when, and how to care for each piece at home, in words and temperatures only.
"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from counter.papers.paper_parts import INDENT, CounterPaper, build_paper, numbered
from tickets.printing.flow import Flow, TextLine
from tickets.printing.sizes import PaperError


@dataclass(frozen=True, slots=True)
class SlipCaution:
    """A caution, who accepted it and when, all as words."""

    text: str
    accepted_by: str = ""
    accepted_at: str = ""


@dataclass(frozen=True, slots=True)
class SlipPiece:
    """One piece on the slip; ``price`` is ready to print, with its currency."""

    position: int
    kind: str
    description: str = ""
    services: tuple[str, ...] = ()
    price: str = ""
    cautions: tuple[SlipCaution, ...] = ()
    home_care: tuple[str, ...] = ()
    set_mark: str = ""
    washed: str = ""
    """How often a counted garment was washed, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipData(CounterPaper):
    """Everything a claim slip says; dates and amounts are ready to print."""

    opened_on: str
    promise: str
    pieces: tuple[SlipPiece, ...]


def build_claim_slip(data: SlipData, paper_key: str = "a5", dpi: int = 203) -> bytes:
    """Return the claim slip as PDF bytes on ``a4``, ``letter``, ``a5`` or ``roll-80``.

    Raises PaperError for an unknown paper or a ticket without pieces, NumberError for a
    ticket number that cannot be one.
    """
    if not data.pieces:
        raise PaperError(
            _("Ticket %(ticket)s has no piece to list. Add a piece first.")
            % {"ticket": data.ticket}
        )
    return build_paper(
        data,
        paper_key,
        dpi,
        what=_("Claim slip"),
        facts=(
            (_("Customer"), data.customer),
            (_("Brought in"), data.opened_on),
            (_("Pieces"), str(len(data.pieces))),
        ),
        lead=(_("Ready"), data.promise),
        body=lambda flow: _body(flow, data),
    )


def _body(flow: Flow, data: SlipData) -> None:
    said: dict[tuple[str, ...], int] = {}
    for piece in data.pieces:
        first = said.setdefault(piece.home_care, piece.position)
        flow.keep(flow.rule() + _piece(flow, piece, first))


def _piece(flow: Flow, piece: SlipPiece, care_like: int) -> list[TextLine]:
    """Lines of one piece; care that was said of an earlier one, ``care_like``, is not repeated."""
    small = flow.small
    indent = INDENT
    lines = numbered(flow, piece.position, piece.kind, piece.price)
    about = [piece.description]
    if piece.set_mark:
        about.append(_("set %(mark)s") % {"mark": piece.set_mark})
    if text := " · ".join(part for part in about if part):
        lines += flow.lines(text, small, indent=indent)
    if piece.services:
        lines += flow.lines(", ".join(piece.services), small, indent=indent)
    if piece.washed:
        lines += flow.lines(piece.washed, small, indent=indent)
    for caution in piece.cautions:
        lines += flow.gap(0.7)
        lines += flow.lines(
            _("Caution: %(text)s") % {"text": caution.text}, small, bold=True, indent=indent
        )
        if signed := _signed(caution):
            lines += flow.lines(signed, small, indent=indent)
    if piece.home_care:
        lines += flow.gap(0.7)
        care = _("At home: %(text)s") % {"text": " ".join(piece.home_care)}
        if care_like != piece.position:
            care = _("At home: as piece %(number)02d above.") % {"number": care_like}
        lines += flow.lines(care, small, indent=indent)
    return lines


def _signed(caution: SlipCaution) -> str:
    if caution.accepted_by and caution.accepted_at:
        return _("Accepted by %(name)s, %(when)s") % {
            "name": caution.accepted_by,
            "when": caution.accepted_at,
        }
    if caution.accepted_by:
        return _("Accepted by %(name)s") % {"name": caution.accepted_by}
    return ""
