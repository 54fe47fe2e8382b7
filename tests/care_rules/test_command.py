"""`decide FILE`: decisions out on success, one line for each fault and nothing else on refusal."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from care_rules import decide_json
from care_rules.cli import run
from tests.care_rules.builders import piece


def decided(text: str, *argv: str) -> tuple[int, str, list[str]]:
    out, err = io.StringIO(), io.StringIO()
    status = run(list(argv) or ["-"], io.StringIO(text), out, err)
    return status, out.getvalue(), err.getvalue().splitlines()


def refused(value: Any) -> list[str]:
    status, out, err = decided(json.dumps(value))
    assert (status, out) == (2, "")
    return err


def test_one_object_gives_one_decision() -> None:
    status, out, err = decided(json.dumps(piece("wool")))
    assert (status, err) == (0, [])
    assert json.loads(out) == decide_json(piece("wool"))


def test_an_array_gives_an_array_in_the_same_order() -> None:
    status, out, err = decided(json.dumps([piece("wool", id="a"), piece("silk", id="b")]))
    assert (status, err) == (0, [])
    assert [decision["id"] for decision in json.loads(out)] == ["a", "b"]


def test_an_empty_array_gives_an_empty_array() -> None:
    assert decided("[]") == (0, "[]\n", [])


def test_a_file_is_read_too(tmp_path: Path) -> None:
    path = tmp_path / "facts.json"
    path.write_text(json.dumps(piece("wool")), encoding="utf-8")
    status, out, _ = decided("", "decide", str(path))
    assert (status, json.loads(out)["process"]) == (0, "hand_wash")


def test_an_empty_object_is_decided_with_the_gentlest_figures_and_a_question() -> None:
    status, out, _ = decided("{}")
    decision = json.loads(out)
    assert (status, decision["outcome"]) == (0, "ask")
    assert decision["limits"]["wash"]["max_c"] == 30


def test_one_bad_object_refuses_the_whole_array() -> None:
    assert refused([piece("wool"), piece("wool", colour="mauve")]) == [
        'object 1: field colour: value "mauve": '
        "use one of bright, dark, mixed, pastel, unknown, white"
    ]


def test_every_fault_of_every_object_is_told() -> None:
    lines = refused([{"colour": 3, "colur": "x"}, 7, {"stains": [{}]}])
    assert [line.split(": value")[0] for line in lines] == [
        "object 0: field colur", "object 0: field colour", "object 1: field (whole)",
        "object 2: field stains[0].stain",
    ]  # fmt: skip


def bad_share(percent: Any) -> dict[str, Any]:
    return {"components": [{"part": "shell", "fibres": [{"fibre": "wool", "percent": percent}]}]}


BAD: list[tuple[dict[str, Any], str]] = [
    (bad_share(-1), "components[0].fibres[0].percent"),
    (bad_share(0), "components[0].fibres[0].percent"),
    (bad_share(101), "components[0].fibres[0].percent"),
    (bad_share("80"), "components[0].fibres[0].percent"),
    (bad_share(True), "components[0].fibres[0].percent"),
    (bad_share(None), "components[0].fibres[0].percent"),
    (bad_share(float("nan")), "components[0].fibres[0].percent"),
    (bad_share(float("inf")), "components[0].fibres[0].percent"),
    ({"components": [{"part": "shell", "fibres": [{"fibre": "unobtainium"}]}]},
     "components[0].fibres[0].fibre"),
    ({"components": [{"part": "shell", "fibres": [{"percent": 5}]}]},
     "components[0].fibres[0].fibre"),
    ({"components": [{"part": "sleeve"}]}, "components[0].part"),
    ({"components": [{"part": "shell", "fibers": []}]}, "components[0].fibers"),
    ({"components": {"part": "shell"}}, "components"),
    ({"components": ["wool"]}, "components[0]"),
    ({"components": None}, "components"),
    ({"id": 5}, "id"),
    ({"kind": "spacesuit"}, "kind"),
    ({"construction": "woven "}, "construction"),
    ({"colour": "Dark"}, "colour"),
    ({"colour_tested": "yes"}, "colour_tested"),
    ({"label": "none"}, "label"),
    ({"label": {"state": "lost"}}, "label.state"),
    ({"label": {"edition": 2012}}, "label.edition"),
    ({"label": {"market": "eu"}}, "label.market"),
    ({"label": {"symbols": ["wash_45"]}}, "label.symbols[0]"),
    ({"label": {"symbols": "wash_40"}}, "label.symbols"),
    ({"label": {"terms": ["boil it"]}}, "label.terms[0]"),
    ({"label": {"symbol": []}}, "label.symbol"),
    ({"trims": ["dark"]}, "trims[0]"),
    ({"trims": [{"trim": "metal_zip"}]}, "trims[0]"),
    ({"stains": ["red wine"]}, "stains[0]"),
    ({"stains": [{"stain": "red whine"}]}, "stains[0].stain"),
    ({"damage": ["moth"]}, "damage[0]"),
    ({"hazards": ["fire"]}, "hazards[0]"),
    ({"services": ["wash"]}, "services[0]"),
    ({"services": "clean"}, "services"),
    ({"work": ["hem"]}, "work[0]"),
    ({"wearer": "baby"}, "wearer"),
    ({"shop": []}, "shop"),
    ({"shop": {"wet_cleaning": 1}}, "shop.wet_cleaning"),
    ({"shop": {"dry_cleaning": ["perc"]}}, "shop.dry_cleaning[0]"),
    ({"shop": {"send_out": ["fur"]}}, "shop.send_out[0]"),
    ({"accepted": [1]}, "accepted[0]"),
    ({"overrides": ["wool"]}, "overrides[0]"),
    ({"temperature": 40}, "temperature"),
]  # fmt: skip


@pytest.mark.parametrize(("facts", "field"), BAD, ids=[field for _, field in BAD])
def test_a_bad_value_is_refused_by_field_value_and_cure(facts: dict[str, Any], field: str) -> None:
    (line,) = refused(facts)
    assert line.startswith(f"object 0: field {field}: value ")
    assert len(line.split(": ", 3)[3]) > 10


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "line 1 column 1"),
        ('{"id": }', "line 1 column 8"),
        ('{"id": "a"\n "kind": 1}', "line 2 column 2"),
        ('{"id": "a", "id": "b"}', "field id: given twice"),
        ('{"id": "a", "kind": "b", "id": "c"}', "field id: given twice"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_json_is_refused_with_its_place(text: str, words: str) -> None:
    status, out, err = decided(text)
    assert (status, out, len(err)) == (2, "", 1)
    assert words in err[0]


@pytest.mark.parametrize("text", ['"wool"', "5", "null", "true"])
def test_json_that_is_no_object_is_refused(text: str) -> None:
    status, out, err = decided(text)
    assert (status, out, len(err)) == (2, "", 1)
    assert err[0].startswith(f"object 0: field (whole): value {text}: ")


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    status, out, err = decided("", str(tmp_path / "none.json"))
    assert (status, out, len(err)) == (2, "", 1)
    assert err == [
        f"file '{tmp_path / 'none.json'}': No such file or directory: name a file that can be read"
    ]


def test_half_a_character_in_the_name_of_a_piece_is_echoed_as_it_came() -> None:
    status, out, _ = decided('{"id": "\\ud83d and é \\ud83d\\ude00", "kind": "tshirt"}')
    assert status == 0
    out.encode("utf-8")
    assert json.loads(out)["id"] == "\ud83d and é \U0001f600"


def test_a_file_that_is_no_utf_8_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "facts.json"
    path.write_bytes(b'{"id": "\xff"}')
    status, out, err = decided("", str(path))
    assert (status, out, len(err)) == (2, "", 1)
    assert "not UTF-8" in err[0]


@pytest.mark.parametrize("argv", [["decide"], ["a", "b"]])
def test_wrong_arguments_are_refused(argv: list[str]) -> None:
    status, out, err = decided("", *argv)
    assert (status, out, len(err)) == (2, "", 1)


def test_a_value_with_a_line_break_stays_on_one_line() -> None:
    assert len(refused({"kind": "a\nb" * 100})) == 1
