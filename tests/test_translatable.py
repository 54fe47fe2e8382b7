"""Every word that a page shows can be said in another language, and in whole sentences."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.utils import translation

from care_rules import Facts, speech
from care_rules.rows import HEADINGS, load_table
from care_rules.texts import in_words, table_texts
from counter.care import book
from counter.intake.choice_lists import KINDS, STAINS
from counter.models import Shop
from counter.shop.forms.prices import PriceSheet
from tickets import wording

TEMPLATES = Path(__file__).resolve().parent.parent / "templates"
TRANSLATED = re.compile(
    r"\{% comment.*?endcomment %\}|\{#.*?#\}|\{% blocktranslate.*?\{% endblocktranslate %\}"
    r"|\{% translate .*?%\}",
    re.DOTALL,
)
TAG = re.compile(r"\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
ATTRIBUTE = re.compile(r"""\s(?:title|aria-label|placeholder|alt|label)=["']([^"']*)["']""")
BLOCK = re.compile(r"\{% block (?:main_class|body_class) %\}.*?\{% endblock %\}", re.DOTALL)
WORD = re.compile(r"[A-Za-z]{3,}")


def bare_words(source: str) -> list[str]:
    """Words of a template that stand outside every translation, in texts and spoken attributes."""
    left = TAG.sub("", TRANSLATED.sub("", BLOCK.sub("", source)))
    spoken = ATTRIBUTE.findall(left)
    texts = re.sub(r"&[a-z]+;", "", re.sub(r"<[^>]*>", "|", left))
    return WORD.findall(" ".join([texts, *spoken]))


def test_the_search_for_bare_words_finds_them() -> None:
    assert bare_words('<p title="Old">{% translate "New" %} {{ n }} pieces</p>') == [
        "pieces",
        "Old",
    ]


@pytest.mark.parametrize(
    "path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: str(path.relative_to(TEMPLATES))
)
def test_no_template_holds_a_word_outside_a_translation(path: Path) -> None:
    assert bare_words(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("table", ["kinds", "work", "fibres", "stains", "hazards", "symbols"])
def test_every_heading_of_a_table_is_given_to_the_translators(table: str) -> None:
    texts = table_texts()
    cells = {
        row.cells[column].replace("_", " ")
        for row in load_table(table).values()
        for column in HEADINGS
        if row.cells.get(column)
    }
    assert cells
    assert [cell for cell in sorted(cells) if cell not in texts] == []


@pytest.fixture
def two_tongues() -> Iterator[None]:
    """English, and a second language whose texts of the tables stand in brackets."""
    english = speech.translation()
    speech.speak_through(
        lambda: str(translation.get_language()),
        lambda text: f"⟦{text}⟧" if translation.get_language() == "eo" else text,
    )
    yield
    speech.speak_through(*english)


def test_lists_follow_the_reader_and_not_who_came_first(two_tongues: None) -> None:
    for language, shirt, wine in (
        ("en", "cotton shirt", "red wine"),
        ("eo", "⟦cotton shirt⟧", "⟦red wine⟧"),
        ("en", "cotton shirt", "red wine"),
    ):
        with translation.override(language):
            assert KINDS.name("shirt_cotton") == shirt
            assert KINDS.usual[0].name == shirt
            assert KINDS.key(shirt) == "shirt_cotton"
            assert STAINS.name("red wine") == wine
            assert wording.stain_names(Facts(stains=("red wine",))) == [wine]


def test_headings_come_in_the_language_of_the_reader(two_tongues: None) -> None:
    with translation.override("eo"):
        assert in_words("cellulosic_natural") == "⟦cellulosic natural⟧"
        page = book.page("stain.blood", Shop())
        assert page is not None
        assert page.name == "⟦blood⟧"
        assert "⟦protein⟧" in dict(page.details).values()
        entries = book.search("wool")
        assert all(entry.under.startswith("⟦") for entry in entries)


@pytest.mark.django_db
def test_groups_of_the_price_list_come_in_the_language_of_the_reader(two_tongues: None) -> None:
    with translation.override("eo"):
        titles = [group.title for group in PriceSheet(Shop()).by_kind[1:]]
        assert titles[0] == "⟦tops⟧"
        assert all(title.startswith("⟦") for title in titles)
