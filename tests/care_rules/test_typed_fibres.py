"""A fibre as hurried hands type it: with its share in the same field, misspelt, or by its sort."""

from __future__ import annotations

import pytest

from care_rules import decide_json, parse_facts
from care_rules.errors import FactsError
from care_rules.fibre_words import fibres_meant, near_fibre_words, shares_typed
from care_rules.tables import book
from tests.care_rules.builders import piece


def given(*fibres: object) -> dict[str, object]:
    return piece("") | {"components": [{"part": "shell", "fibres": list(fibres)}]}


def read(text: str) -> list[tuple[str, float | None]]:
    (component,) = parse_facts(given({"fibre": text})).components
    return [(share.fibre, share.percent) for share in component.fibres]


@pytest.mark.parametrize(
    ("text", "fibres"),
    [
        ("60 % cotton", [("cotton", 60)]),
        ("60% cotton", [("cotton", 60)]),
        ("cotton 60%", [("cotton", 60)]),
        ("Baumwolle 62,5 %", [("cotton", 62.5)]),
        ("%100 pamuk", [("cotton", 100)]),
        ("100 per cent wool", [("wool", 100)]),
        ("６０％ 綿", [("cotton", 60)]),
        ("60 % cotton, 40 % polyester", [("cotton", 60), ("polyester", 40)]),
        ("cotton 60% / linen 40%", [("cotton", 60), ("linen", 40)]),
        ("80% CO 20% PA", [("cotton", 80), ("polyamide", 20)]),
        ("cotton", [("cotton", None)]),
    ],
)
def test_a_share_typed_with_its_fibre_is_split(
    text: str, fibres: list[tuple[str, float | None]]
) -> None:
    assert read(text) == fibres


def test_it_is_decided_like_the_same_in_two_fields() -> None:
    whole = decide_json(given({"fibre": "60 % cotton, 40 % viscose"}))
    parted = given({"fibre": "cotton", "percent": 60}, {"fibre": "viscose", "percent": 40})
    assert whole == decide_json(parted)


@pytest.mark.parametrize("text", ["60 %", "% cotton", "cotton 60", "60 % cotton 40 %", "", "%"])
def test_what_is_no_list_of_shares_is_left_as_it_is(text: str) -> None:
    assert shares_typed(text) == ()


@pytest.mark.parametrize(
    ("fibre", "said"),
    [
        ({"fibre": "160 % cotton"}, "above 0 and at most 100"),
        ({"fibre": "0 % cotton"}, "above 0 and at most 100"),
        ({"fibre": "60 % coton de mars"}, "no such key"),
        ({"fibre": "60 % cotton", "percent": 60}, "no such key"),
        ({"fibre": "60 % denim"}, "names a cloth"),
    ],
)
def test_a_wrong_share_or_fibre_in_it_is_named(fibre: dict[str, object], said: str) -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts(given(fibre))
    (fault,) = refused.value.faults
    assert fault.field == "components[0].fibres[0].fibre"
    assert said in fault.cure


@pytest.mark.parametrize(
    ("typo", "word"),
    [
        ("woool", "wool"), ("cottn", "cotton"), ("Baumwole", "baumwolle"),
        ("polyestre", "polyester"), ("puuvila", "puuvilla"), ("merrino", "merino"),
        ("viscoze", "viscose"),
        ("spandx", "spandex"), ("cashmire", "cashmere"), ("vegan lether", "vegan leather"),
    ],
)  # fmt: skip
def test_a_typo_is_answered_with_the_words_it_is_near(typo: str, word: str) -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts(given({"fibre": typo}))
    (fault,) = refused.value.faults
    assert fault.cure.startswith("no such key; did you mean ")
    assert word in fault.cure


def test_at_most_three_near_words_are_named() -> None:
    assert near_fibre_words("sed", book()) == ["suede", "seda", "ed"]


def test_what_is_near_to_nothing_is_sent_to_the_catalogue() -> None:
    with pytest.raises(FactsError) as refused:
        parse_facts(given({"fibre": "zzzzqqqq"}))
    assert refused.value.faults[0].cure == "no such key; take one from the catalogue"


#: Words as they were remembered from labels, in the eleven official languages of the EU that are
#: not met every day, in capitals as labels have them.
WORDS = {
    "wool": "VILLA VILL VILNA VLNA VOLNA VUNA ВЪЛНА ΜΑΛΛΙ SUF OLANN",
    "cotton": "PUUVILLA PUUVILL KOKVILNA MEDVILNĖ BAVLNA BOMBAŽ PAMUK ПАМУК ΒΑΜΒΑΚΙ QOTON CADÁS",
    "silk": "SILKKI SIID ZĪDS ŠILKAS HODVÁB SVILA КОПРИНА ΜΕΤΑΞΙ ĦARIR SÍODA",
    "linen": "PELLAVA LINA LINI LINAS ĽAN LAN ЛЕН ΛΙΝΑΡΙ KITTIEN LÍON",
    "polyester": "POLYESTERI POLÜESTER POLIESTERS POLIESTERIS ПОЛИЕСТЕР ΠΟΛΥΕΣΤΕΡΑΣ POILEISTEAR",
    "elastane": "ELASTAANI ELASTAAN ELASTĀNS ELASTANAS ЕЛАСТАН ΕΛΑΣΤΑΝΗ ÉALASTÁN",
    "viscose": "VISKOOSI VISKOOS VISKOZE VISKOZĖ VISKÓZA VISKOZA ВИСКОЗА ΒΙΣΚΟΖΗ",
}


@pytest.mark.parametrize("fibre", WORDS)
def test_the_other_official_languages_of_the_union_are_read(fibre: str) -> None:
    words = WORDS[fibre].split()
    assert [word for word in words if fibres_meant(word, book()) != (fibre,)] == []


@pytest.mark.parametrize(
    ("sort", "fibre"),
    [
        ("merino", "wool"), ("extra fine merino", "wool"), ("lambswool", "wool"),
        ("pima cotton", "cotton"), ("mercerised cotton", "cotton"), ("Egyptian cotton", "cotton"),
        ("microfibre", "polyester"), ("recycled polyester", "polyester"),
        ("vegan leather", "polyurethane_coating"), ("faux leather", "polyurethane_coating"),
        ("fake fur", "faux_fur"), ("mulberry silk", "silk"), ("shantung", "silk_wild"),
        ("nubuck", "suede"), ("cowhide", "leather"), ("mink", "fur"), ("goose down", "down"),
    ],
)  # fmt: skip
def test_the_sorts_that_shops_speak_of_are_their_fibre(sort: str, fibre: str) -> None:
    assert fibres_meant(sort, book()) == (fibre,)


#: EU 1007/2011 Annex III, all 24 languages, typed from the English text.
VIRGIN_WOOL = """
необработена вълна|lana virgen|lana de esquilado|střižní vlna|ren, ny uld|Schurwolle|uus vill
παρθένο μαλλί|fleece wool|virgin wool|laine vierge|laine de tonte|runska vuna|olann lomra
lana vergine|lana di tosa|pirmlietojuma vilna|cirptā vilna|natūralioji vilna|élőgyapjú|suf verġni
scheerwol|żywa wełna|lã virgem|lână virgină|strižná vlna|runska volna|uusi villa|ny ull
"""


def test_virgin_wool_is_read_by_every_name_that_the_regulation_has_for_it() -> None:
    names = [name for line in VIRGIN_WOOL.split("\n") for name in line.split("|") if name]
    assert len(names) == 29
    assert [name for name in names if fibres_meant(name, book()) != ("wool_virgin",)] == []


@pytest.mark.parametrize(
    ("name", "fibre"),
    [
        ("true hemp", "hemp"), ("camel hair", "camel"), ("alpaca wool", "alpaca"),
        ("cattle hair", "animal_hair"), ("horsehair", "horsehair"), ("Manila hemp", "abaca"),
        ("coconut", "coir"), ("protein", "protein_regenerated"), ("polycarbamide", "polyurea"),
        ("glass fibre", "glass_fibre"), ("paper", "paper_yarn"), ("crin", "horsehair"),
        ("cotton linen union", "half_linen"), ("chameau", "camel"),
        ("verre textile", "glass_fibre"),
    ],
)  # fmt: skip
def test_the_names_of_annex_i_are_read(name: str, fibre: str) -> None:
    """English: EU 1007/2011 Annex I and Art. 9(3); French: order of 24 June 1998, annex I."""
    assert fibres_meant(name, book()) == (fibre,)
