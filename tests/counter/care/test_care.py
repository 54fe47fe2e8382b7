"""The care page: everything can be looked up, and a piece can be tried without a ticket."""

from __future__ import annotations

import io
import itertools
import re
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings as project
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

import care_rules
from care_rules.tables import book
from care_rules.wording import value_words
from counter.care import book as care_book
from counter.care.drawing import draw
from counter.care.services import add_rule
from counter.care.wording import provenance_words
from counter.models import Shop
from tests.building import jumper, make_shop, make_user
from tickets.acting import Act

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true", "HX-Target": "decision"}
WOOL = {
    "kind": "sweater_wool",
    "colour": "dark",
    "construction": "knit",
    "part-0": "shell",
    "fibre-0-0": "Wool",
    "percent-0-0": "100",
    "label_state": "read",
    "symbol-wash": "wash_40",
    "symbol-bleach": "no_bleach",
    "symbol-iron": "iron_150",
    "services": ["clean", "press"],
}


@pytest.fixture
def client() -> Client:
    """Somebody of the back room: the care page is for all staff."""
    make_shop()
    signed_in = Client()
    signed_in.force_login(make_user("backroom"), backend=project.AUTHENTICATION_BACKENDS[1])
    return signed_in


def text_of(answer: Any) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def names(typed: str) -> list[str]:
    return [entry.rule for entry in care_book.search(typed)]


# Looking up


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ("wool", "fibre.wool"),
        ("  WOOL ", "fibre.wool"),
        ("red wine", "stain.red wine"),
        ("iron medium", "label.iron_150"),
        ("sequins", "trim.sequins"),
        ("do not wring", "term.no wring / do not wring"),
        ("linseed", "fire.oil_selfheat"),
        ("pastel", "colour.pastel"),
    ],
)
def test_typing_finds_the_entry(typed: str, rule: str) -> None:
    assert rule in names(typed)[:5]


def test_a_name_that_begins_with_the_words_stands_first() -> None:
    assert names("wool")[0] == "fibre.wool"
    assert names("silk")[0] == "fibre.silk"


def test_words_that_nothing_holds_find_nothing() -> None:
    assert names("zzzz") == []
    assert names("   ") == []


@pytest.mark.parametrize("a_page_of", [20, pytest.param(1, marks=pytest.mark.slow)])
def test_every_row_that_a_group_names_can_be_opened(client: Client, a_page_of: int) -> None:
    """Each row has its entry; of so many rows one is asked for as a page."""
    tables = [set(book()[name]) for name in ("fibres", "symbols", "terms", "stains", "hazards")]
    shown = {group.key: count for group, count in care_book.groups()}
    counts = [shown[name] for name in ("fibres", "symbols", "terms", "stains", "hazards")]
    assert counts == [len(table) for table in tables]
    keys = [
        entry.rule
        for key in care_book.GROUPS
        for _, under in care_book.browse(key)
        for entry in under
    ]
    assert len(keys) == len(set(keys)) == sum(shown.values())
    shop = Shop.current()
    for place, key in enumerate(keys):
        page = care_book.page(key, shop)
        assert page is not None
        assert page.rule == care_rules.rule(key)
        assert len(page.limits) == len(page.rule.limits)
        if place % a_page_of == 0:
            assert client.get(reverse("care_entry", args=[key])).status_code == 200, key


def test_the_page_searches_and_browses(client: Client) -> None:
    assert "Label symbols" in text_of(client.get("/care/"))
    assert "Wool" in text_of(client.get("/care/", {"q": "wool"}))
    assert "cashmere" in text_of(client.get("/care/", {"group": "fibres"})).casefold()
    page = text_of(client.get("/care/", {"q": "zzzz"}))
    assert "Nothing has that in it. Try one plain word, or browse below. Fibres" in page
    assert "Browse" in text_of(client.get("/care/", {"group": "no_such_group"}))


def test_an_entry_says_nothing_twice(client: Client) -> None:
    """What its table of limits says is not its lead, and no note says the lead again; what is
    forbidden is a word with its shape."""
    wool = care_book.page("fibre.wool", Shop.current())
    assert wool is not None
    assert not wool.lead.startswith("Wool:")
    assert [words for words in wool.notes if "felting" in words] == []
    assert {line.name for line in wool.limits if line.never} == {"Bleach", "Tumble drying"}
    page = client.get(reverse("care_entry", args=["fibre.wool"])).content.decode()
    assert page.count("felting cannot be undone") == 1
    assert page.count('class="state refuse"') == 2


def test_typing_brings_the_list_only(client: Client) -> None:
    part = client.get("/care/", {"q": "wool"}, headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
    assert "/care/about/fibre.wool" in part.content.decode()


def test_an_entry_shows_limit_strength_source_clause_and_status(client: Client) -> None:
    page = text_of(client.get("/care/about/fibre.wool/"))
    assert "Water at most 30 °C careful" in page
    assert "Bleach oxygen only firm" in page
    assert "Careful: common practice; an owner may lift it up to the label." in page
    assert "Firm: never lifted." in page
    assert "EU 1007/2011 Annex I no. 1" in page
    assert (
        "read: Name on EU labels, Moisture allowance, Bleach oxygen only; from memory: Name" in page
    )
    assert "Softens from; the rest common practice" in page


def test_a_symbol_shows_its_drawing_and_a_hazard_says_whom_to_heed(client: Client) -> None:
    symbol = client.get("/care/about/label.wash_30_very_mild/").content.decode()
    assert "#care-wash_30_very_mild" in symbol
    hazard = book().rules["fire.oil_selfheat"]
    page = client.get("/care/about/fire.oil_selfheat/").content.decode().replace("&#x27;", "'")
    assert hazard.cells["do"] in page
    assert hazard.cells["defer_to"] in page


def test_a_drawing_that_markets_read_differently_says_how(client: Client) -> None:
    page = text_of(client.get("/care/about/label.tumble_normal/"))
    for reading in book().readings["tumble_normal"]:
        assert reading.says in page


def test_a_row_from_memory_says_so(client: Client) -> None:
    cell = care_rules.review_cells("memory")[0]
    assert "from memory" in text_of(client.get(reverse("care_entry", args=[cell.rule])))


def test_every_part_that_a_status_names_has_words() -> None:
    phrases = [provenance_words(row.provenance) for row in book().rules.values()]
    assert "common practice, no published source" in phrases
    assert [words for words in phrases if "_" in words or words.startswith("partly")] == []


def test_degrees_are_shown_in_both_scales_where_the_shop_asks(client: Client) -> None:
    Shop.objects.update(fahrenheit=True)
    assert "86 °F" in text_of(client.get("/care/about/fibre.wool/"))


def test_an_unknown_key_is_not_found(client: Client) -> None:
    assert client.get("/care/about/fibre.unobtainium/").status_code == 404


def test_every_value_of_every_limit_has_words() -> None:
    for rule in book().rules.values():
        for path, value, _strength in rule.rule().limits:
            words = value_words(path, value)
            assert words
            assert "_" not in words


# Trying a piece


def test_trying_a_piece_shows_its_decision_and_stores_nothing(client: Client) -> None:
    def rows() -> dict[str, int]:
        stored = [model for model in apps.get_models() if model._meta.label != "sessions.Session"]
        return {model._meta.label: model._default_manager.count() for model in stored}

    before = rows()
    page = text_of(client.post("/care/try/", WOOL))
    assert "Can be taken in" in page
    assert "Machine wash" in page
    assert "at most 30 °C, very mild" in page
    assert "Dry flat in shade, never tumble." in page  # advice for the customer at home
    assert rows() == before


def test_the_what_if_decides_as_the_engine_does(client: Client) -> None:
    answer = client.post("/care/try/", WOOL)
    facts = {**jumper(), "shop": Shop.current().abilities}
    facts["label"] = {
        "state": "read",
        "edition": "unknown",
        "market": "unknown",
        "symbols": ["wash_40", "no_bleach", "iron_150"],
        "terms": [],
    }
    assert answer.context["look"].decision.as_json() == care_rules.decide_json(
        {**facts, "accepted": []}
    )


def test_a_what_if_can_be_sent_as_a_link(client: Client) -> None:
    link = care_book.page("fibre.silk", Shop.current())
    assert link is not None
    answer = client.get(f"/care/try/?{link.try_it}")
    facts = answer.context["look"].facts
    assert facts["components"] == [{"part": "shell", "fibres": [{"fibre": "silk"}]}]
    symbol = care_book.page("label.wash_60", Shop.current())
    assert symbol is not None
    answer = client.get(f"/care/try/?{symbol.try_it}")
    assert answer.context["look"].facts["label"]["symbols"] == ["wash_60"]


@pytest.mark.parametrize("key", ["trim.sequins", "stain.blood", "fire.fuel_clothes", "colour.dark"])
def test_every_kind_of_entry_can_be_tried(client: Client, key: str) -> None:
    entry = care_book.page(key, Shop.current())
    assert entry is not None
    decision = client.get(f"/care/try/?{entry.try_it}").context["look"].decision
    spoken = {rule for keys in decision.because.values() for rule in keys}
    spoken |= {caution.key for caution in decision.cautions}
    assert key in spoken


def test_a_wrong_word_keeps_the_form_and_names_the_nearest(client: Client) -> None:
    page = client.post("/care/try/", {**WOOL, "fibre-0-0": "Woool"}).content.decode()
    assert "is not on the list" in page
    assert 'value="Woool"' in page
    stain = text_of(client.post("/care/try/", {**WOOL, "more-stains": "red whine"}))
    assert "red wine" in stain


def test_a_what_if_asks_for_what_decides_and_for_nothing_of_the_look_over(client: Client) -> None:
    look = client.post("/care/try/", {"colour": "dark"}).context["look"]
    assert [fault.field for fault in look.faults if fault.open] == ["kind", "services", "label"]


def test_a_change_brings_the_decision_and_the_faults_only(client: Client) -> None:
    part = client.post("/care/try/", WOOL, headers=HTMX).content.decode()
    assert "<html" not in part
    assert "why-picture" in part
    assert 'id="bar-outcome" hx-swap-oob="innerHTML"' in part
    assert 'id="fault-components" hx-swap-oob="innerHTML"' in part
    mix = client.post(
        "/care/try/", {**WOOL, "do": "part:lining"}, headers={**HTMX, "HX-Target": "parts"}
    )
    assert 'value="lining" selected' in mix.content.decode()


def test_an_empty_form_asks_and_does_not_fail(client: Client) -> None:
    assert "What is it?" in text_of(client.get("/care/try/"))
    assert client.post("/care/try/", {"percent-0-0": "\x00", "kind": "%%"}).status_code == 200


def test_a_house_rule_speaks_in_the_what_if_by_its_name(client: Client) -> None:
    owner = make_user("owner")
    add_rule("Cool wool", "fibre.wool", "felted", Act(by=owner), limits="wash.max_c=20")
    page = text_of(client.post("/care/try/", WOOL))
    assert "at most 20 °C" in page
    assert "house rule; common practice" in page
    assert "felted" in text_of(client.get("/care/about/fibre.wool/"))


# The picture


def picture(facts: dict[str, Any]) -> Any:
    return draw(care_rules.why(care_rules.parse_facts(facts)), Shop())


def test_the_picture_has_a_strip_for_each_limit_that_a_rule_speaks_on() -> None:
    facts = jumper()
    drawing = picture(facts)
    assert len(drawing.strips) == len(care_rules.why(care_rules.parse_facts(facts)))
    water = next(strip for strip in drawing.strips if strip.name == "Water")
    assert water.words == "at most 30 °C"
    deciding = {mark.name for mark in water.marks if mark.decides}
    symbol = book()["symbols"]["wash_30_very_mild"].cells["name"]
    assert deciding == {"Wool (fibre)", f"{symbol[:1].upper()}{symbol[1:]} (label symbol)"}


def test_stricter_stands_further_right_and_nothing_leaves_the_picture() -> None:
    drawing = picture(jumper(stains=[{"stain": "blood"}], trims=["sequins"]))
    for strip in drawing.strips:
        deciding = [mark for mark in strip.marks if mark.decides]
        assert deciding or all(mark.set_aside for mark in strip.marks)
        for mark in strip.marks:
            assert 12 <= mark.x <= 308  # of 320 units, half of the edge of 24 left free
            assert 0 <= mark.y <= strip.height
            if not mark.decides and not mark.set_aside:
                assert mark.x < strip.x
        assert min((abs(mark.x - strip.x) for mark in deciding), default=0) < 0.2


def test_no_two_marks_and_no_two_words_of_a_strip_cover_each_other() -> None:
    everything = jumper(
        components=[
            {"part": "shell", "fibres": [{"fibre": f} for f in ("wool", "silk", "viscose")]},
            {"part": "lining", "fibres": [{"fibre": f} for f in ("acetate", "elastane")]},
        ],
        trims=["sequins", "beads", "metal_zip"],
        stains=[{"stain": "blood"}, {"stain": "red wine"}],
        damage=["tear", "open_seam"],
    )
    for strip in picture(everything).strips:
        spots = [(mark.x, mark.y) for mark in strip.marks]
        assert len(set(spots)) == len(spots)
        at = [stop.x for stop in strip.stops]
        assert all(b - a >= 28 for a, b in itertools.pairwise(at))


def test_the_table_says_the_same_as_the_picture(client: Client) -> None:
    page = client.post("/care/try/", WOOL).content.decode()
    table = re.search(r'<table class="why-table">.*?</table>', page, re.S)
    assert table is not None
    drawing = client.post("/care/try/", WOOL).context["drawing"]
    for strip in drawing.strips:
        for mark in strip.marks:
            assert f"{mark.name}: {mark.words}" in table[0]


# The command


def review(*asked: str) -> list[str]:
    out = io.StringIO()
    call_command("review_rules", *asked, stdout=out)
    return out.getvalue().splitlines()


def test_the_review_command_lists_each_figure_that_was_not_read_weakest_first() -> None:
    lines = review()
    cells = care_rules.review_cells("memory", "practice")
    assert [line for line in lines if line.startswith("    ")] == [
        f"    {cell.column}: {cell.value}" for cell in cells
    ]
    assert "    softens_c: 130" in lines
    headings = [line.partition(",")[0] for line in lines if line[0] != " "][:-1]
    assert headings == sorted(headings)
    assert headings[0] == "memory"
    counts = re.findall(r"\d+ (?:read|practice|memory)", lines[-1])
    assert counts[1:] == [
        f"{sum(cell.status == name for cell in cells)} {name}" for name in ("practice", "memory")
    ]


def test_the_review_command_may_list_one_status_and_words_too() -> None:
    memory = review("--status", "memory")
    assert not [line for line in memory if line.startswith("practice")]
    assert len(review("--status", "memory", "--words")) > len(memory)


def test_the_review_command_refuses_a_status_that_there_is_not() -> None:
    with pytest.raises(CommandError, match="guess"):
        call_command("review_rules", "--status", "guess")
