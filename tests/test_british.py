"""The shop speaks British English, from one list; a catalogue puts another English in its place."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.utils import translation

from care_rules import speech
from care_rules.texts import table_texts
from counter.intake.choice_lists import KINDS
from tests.test_translatable import TEMPLATES, TRANSLATED

ROOT = Path(__file__).resolve().parent.parent
ELSEWHERE = {
    "aluminum": "aluminium", "bathrobe": "dressing gown", "center": "centre", "color": "colour",
    "colored": "coloured", "comforter": "duvet", "diaper": "nappy", "drapes": "curtains",
    "faucet": "tap", "fiber": "fibre", "flavor": "flavour", "gasoline": "petrol",
    "gotten": "got", "gray": "grey", "jewelry": "jewellery", "labeled": "labelled",
    "liter": "litre", "meter": "metre", "mold": "mould", "odor": "odour", "pajamas": "pyjamas",
    "pants": "trousers", "pantyhose": "tights", "program": "programme", "slacks": "trousers",
    "suspenders": "braces", "sweater": "jumper", "trash": "rubbish", "turtleneck": "polo neck",
    "tuxedo": "dinner jacket", "undershirt": "vest", "vacation": "holiday", "vapor": "vapour",
    "washcloth": "flannel", "zipper": "zip",
}  # fmt: skip
"""Words said otherwise in Britain, with the British one (common usage, no source)."""

AS_PRINTED = ("close zippers", "like colors", "dark colors", "other fiber")
"""Words of labels, as they stand there."""

WORD = re.compile(rf"\b({'|'.join(ELSEWHERE)})s?\b", re.IGNORECASE)
CALLS = {"_", "gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext"}


def foreign_words(text: str) -> list[str]:
    for printed in AS_PRINTED:
        text = text.replace(printed, "")
    return [word.lower() for word in WORD.findall(text)]


def sentences_of_code() -> Iterator[str]:
    for app in ("counter", "tickets", "care_rules"):
        for path in sorted((ROOT / app).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") in CALLS:
                    yield from (
                        part.value
                        for part in node.args
                        if isinstance(part, ast.Constant) and isinstance(part.value, str)
                    )


def sentences_of_pages() -> Iterator[str]:
    for path in sorted(TEMPLATES.rglob("*.html")):
        yield from TRANSLATED.findall(path.read_text(encoding="utf-8"))


SENTENCES = {
    "code": list(sentences_of_code()),
    "pages": list(sentences_of_pages()),
    "tables": list(table_texts()),
}


def test_the_search_for_words_from_elsewhere_finds_them() -> None:
    assert foreign_words("A wool Sweater with zippers; close zippers") == ["sweater", "zipper"]
    assert foreign_words("A wool jumper, a program of colour") == ["program"]
    assert foreign_words("The programme of a colourist") == []


@pytest.mark.parametrize("where", SENTENCES)
def test_what_the_shop_says_is_british(where: str) -> None:
    sentences = SENTENCES[where]
    assert len(sentences) > 400
    words = {sentence: foreign_words(sentence) for sentence in sentences}
    assert {sentence: named for sentence, named in words.items() if named} == {}


def test_the_words_of_labels_are_still_there() -> None:
    said = " ".join(SENTENCES["tables"])
    assert [printed for printed in AS_PRINTED if printed not in said] == []


@pytest.fixture
def american() -> Iterator[None]:
    """A catalogue of another English: the British words of the list said as in America."""
    british = speech.translation()
    words = {said: word for word, said in ELSEWHERE.items()}

    def say(text: str) -> str:
        if translation.get_language() != "en-us":
            return text
        return " ".join(words.get(word, word) for word in text.split(" "))

    speech.speak_through(lambda: str(translation.get_language()), say)
    yield
    speech.speak_through(*british)


def test_another_english_takes_the_place_of_the_british_and_the_keys_stay(american: None) -> None:
    for language, name in (("en", "wool jumper"), ("en-us", "wool sweater"), ("en", "wool jumper")):
        with translation.override(language):
            assert KINDS.name("sweater_wool") == name
            assert KINDS.key(name) == "sweater_wool"
