"""What the count of washes makes the shop say, ask and refuse at the intake."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import translation

from care_rules import catalogue
from tests.building import hivis_jacket, jumper, make_customer
from tests.care_rules.builders import decided
from tests.tickets.visits import take_in
from tickets.acting import Act
from tickets.errors import Refused
from tickets.garments import washes
from tickets.garments.queries import wash_count
from tickets.garments.washes import WashCount
from tickets.garments.wording import coming_wash
from tickets.models import Piece
from tickets.pieces.decisions import AcceptedCaution, PieceSpec
from tickets.pieces.services import decide_again

pytestmark = pytest.mark.django_db


def yes_to(piece: Piece | None, before: int, allowed: int) -> AcceptedCaution:
    """A yes to the hold of a jacket whose coming wash passes the count on its label."""
    last = wash_count(piece) if piece else None
    decision = washes.with_wash_caution(
        decided(hivis_jacket()), washes.at_intake(last, before, allowed)
    )
    (hold,) = [caution for caution in decision.cautions if caution.level == "hold"]
    return AcceptedCaution(hold.key, hold.says, "Ada Brook")


# The caution


def cautions(count: WashCount, **changes: Any) -> list[tuple[str, str]]:
    decision = washes.with_wash_caution(decided(hivis_jacket(**changes)), count)
    return [
        (caution.level, caution.says)
        for caution in decision.cautions
        if caution.key.endswith(".label_count")
    ]


def test_the_last_certified_wash_is_said_and_the_one_past_it_needs_a_yes() -> None:
    assert cautions(WashCount(23, 25, told=True)) == []
    assert cautions(WashCount(24, 25, told=True)) == [
        ("caution", "This is wash 25 of 25: the last one that its label certifies.")
    ]
    assert cautions(WashCount(25, 25, told=True)) == [
        (
            "hold",
            "This is wash 26 and its label certifies 25: its protection is no longer certified.",
        )
    ]


def test_without_a_count_on_the_label_the_fifth_wash_asks_for_it() -> None:
    """EN ISO 20471 tests after 5 washes where no count is given: row hivis.washcount."""
    row = next(entry for entry in catalogue.hazards() if entry.key == "hivis.washcount")
    assert f"after {washes.TESTED_AFTER} washes when no count is given" in row.source
    assert "EN ISO 20471" in row.source
    assert cautions(WashCount(3, None, told=True)) == []
    assert cautions(WashCount(4, None, told=True)) == [
        (
            "caution",
            "This is wash 5 and no count is known from its label; without one, such clothing is "
            "tested after 5 washes.",
        )
    ]


def test_what_is_not_washed_or_not_counted_gets_no_caution() -> None:
    assert cautions(WashCount(99, 25), services=["press"]) == []
    plain = decided(jumper())
    assert washes.with_wash_caution(plain, WashCount(99, 25)) == plain


def test_the_caution_defers_to_whom_the_table_names() -> None:
    decision = washes.with_wash_caution(decided(hivis_jacket()), WashCount(25, 25, told=True))
    (hold,) = [caution for caution in decision.cautions if caution.level == "hold"]
    assert hold.defer_to == "employer; garment maker"
    assert "hivis.washcount" in hold.because
    assert decision.outcome == "ask"


def test_a_wash_past_the_count_opens_only_with_a_name_under_it(user: User) -> None:
    ada = make_customer()
    counts = {"washes_before": 25, "washes_allowed": 25}
    with pytest.raises(Refused, match="This is wash 26") as no:
        take_in(user, ada, PieceSpec(facts=hivis_jacket(), **counts))  # type: ignore[arg-type]
    assert no.value.code == "needs_acceptance"
    (piece,) = take_in(
        user,
        ada,
        PieceSpec(facts=hivis_jacket(), accepted=[yes_to(None, 25, 25)], **counts),  # type: ignore[arg-type]
    )
    assert piece.decision["outcome"] == "accept"
    assert [row.accepted_by for row in piece.acceptances.all()] == ["Ada Brook"]
    again = decide_again(piece.code, hivis_jacket(colour="mixed"), "seen", Act(by=user))
    assert again.decision["outcome"] == "accept"
    assert "hivis.washcount.label_count" in [c["key"] for c in again.decision["cautions"]]


@pytest.mark.parametrize(
    ("facts", "counts", "code", "says"),
    [
        (jumper(), {"washes_allowed": 25}, "not_counted", "Piece 1, washes_allowed 25"),
        (jumper(), {"washes_before": 0}, "not_counted", "Piece 1, washes_before 0"),
        (hivis_jacket(), {"washes_allowed": 0}, "bad_count", "Piece 1, washes_allowed: 0"),
        (hivis_jacket(), {"washes_before": -1}, "bad_count", "Piece 1, washes_before: -1"),
        (hivis_jacket(), {"washes_before": 1001}, "bad_count", "Piece 1, washes_before: 1001"),
    ],
)
def test_a_count_that_cannot_be_is_refused_with_value_place_and_cure(
    user: User, facts: dict[str, Any], counts: dict[str, int], code: str, says: str
) -> None:
    with pytest.raises(Refused, match=says) as no:
        take_in(user, make_customer(), PieceSpec(facts=facts, **counts))  # type: ignore[arg-type]
    assert (no.value.code, bool(no.value.cure)) == (code, True)


def test_the_words_follow_the_language_of_the_reader(settings: Any, tmp_path: Path) -> None:
    german = {
        "Wash %(n)d of %(allowed)d on its label": "Wäsche %(n)d von %(allowed)d laut Etikett",
        "This is wash %(n)d of %(allowed)d: the last one that its label certifies.": "Letzte "
        "Wäsche, %(n)d von %(allowed)d.",
    }
    write_catalogue(tmp_path / "de" / "LC_MESSAGES" / "django.mo", german)
    settings.LOCALE_PATHS = [tmp_path]
    count = WashCount(24, 25, told=True)
    with translation.override("de"):
        assert coming_wash(count) == "Wäsche 25 von 25 laut Etikett"
        assert cautions(count) == [("caution", "Letzte Wäsche, 25 von 25.")]
    assert coming_wash(count) == "Wash 25 of 25 on its label"


def write_catalogue(path: Path, texts: dict[str, str]) -> None:
    """A compiled catalogue as the GNU gettext manual describes the file ("MO Files")."""
    head = "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n != 1);\n"
    rows = sorted({"": head, **texts}.items())
    both = [[text.encode() for text in column] for column in zip(*rows, strict=True)]
    start = 28 + 16 * len(rows)
    index, data = b"", b""
    for column in both:
        for text in column:
            index += struct.pack("<II", len(text), start + len(data))
            data += text + b"\0"
    header = struct.pack("<7I", 0x950412DE, 0, len(rows), 28, 28 + 8 * len(rows), 0, start)
    path.parent.mkdir(parents=True)
    path.write_bytes(header + index + data)
