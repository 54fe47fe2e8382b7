"""Bad input through `manage.py decide` itself: exit 2, nothing on standard output, and one line
for each fault that names the object, the field, the value and the cure."""

from __future__ import annotations

import io
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from care_rules import decide_json
from care_rules.cli import run
from tests.care_rules.builders import command, piece

FULL = "wash_60 bleach_any tumble_normal line_dry iron_200 dry_clean_p wet_clean_w"


def fibres(*shares: Any) -> dict[str, Any]:
    return {"components": [{"part": "shell", "fibres": list(shares)}]}


#: What is given and the field that the refusal must name.
BAD: list[tuple[Any, str]] = [
    (fibres({"fibre": "wool", "percent": 100.5}), "components[0].fibres[0].percent"),
    (fibres({"fibre": "wool", "percent": [80]}), "components[0].fibres[0].percent"),
    (fibres({"fibre": "wool", "percent": 1e999}), "components[0].fibres[0].percent"),
    (fibres({"fibre": "wool", "percent": 10**400}), "components[0].fibres[0].percent"),
    (fibres({"fibre": "woool"}), "components[0].fibres[0].fibre"),
    (fibres({"fibre": ["wool"]}), "components[0].fibres[0].fibre"),
    (fibres({"fibre": {"fibre": "wool"}}), "components[0].fibres[0].fibre"),
    (fibres({"fibre": "wool"}, {"fibre": ""}), "components[0].fibres[1].fibre"),
    (fibres(None), "components[0].fibres[0]"),
    (fibres({"fibre": "wool", "share": 80}), "components[0].fibres[0].share"),
    ({"components": [{"part": None}]}, "components[0].part"),
    ({"components": [[]]}, "components[0]"),
    ({"components": "wool"}, "components"),
    ({"id": None}, "id"),
    ({"id": ["a"]}, "id"),
    ({"kind": ""}, "kind"),
    ({"kind": 5}, "kind"),
    ({"kind": {"kind": "jeans"}}, "kind"),
    ({"construction": None}, "construction"),
    ({"colour": "purple"}, "colour"),
    ({"colour_tested": 0}, "colour_tested"),
    ({"colour_tested": None}, "colour_tested"),
    ({"label": None}, "label"),
    ({"label": []}, "label"),
    ({"label": {"state": True}}, "label.state"),
    ({"label": {"edition": "2005"}}, "label.edition"),
    ({"label": {"edition": 2023}}, "label.edition"),
    ({"label": {"symbols": None}}, "label.symbols"),
    ({"label": {"symbols": {"wash_40": True}}}, "label.symbols"),
    ({"label": {"symbols": ["wash_40", 40]}}, "label.symbols[1]"),
    ({"label": {"symbols": [["wash_40"]]}}, "label.symbols[0]"),
    ({"label": {"terms": "do not wash"}}, "label.terms"),
    ({"label": {"terms": [None]}}, "label.terms[0]"),
    ({"label": {"terms": [""]}}, "label.terms[0]"),
    ({"trims": "metal_zip"}, "trims"),
    ({"trims": [True]}, "trims[0]"),
    ({"stains": {"stain": "grass"}}, "stains"),
    ({"stains": [{"stain": "grass", "where": "knee"}]}, "stains[0].where"),
    ({"stains": [{"stain": None}]}, "stains[0].stain"),
    ({"damage": [{}]}, "damage[0]"),
    ({"hazards": ["fire.drying_oil", "fire.drying_oils"]}, "hazards[1]"),
    ({"services": ["clean", "Press"]}, "services[1]"),
    ({"services": None}, "services"),
    ({"work": {}}, "work"),
    ({"wearer": 3}, "wearer"),
    ({"shop": {"wet_cleaning": "yes"}}, "shop.wet_cleaning"),
    ({"shop": {"dry_cleaning": "P"}}, "shop.dry_cleaning"),
    ({"shop": {"dry_cleaning": ["p"]}}, "shop.dry_cleaning[0]"),
    ({"shop": {"sendout": []}}, "shop.sendout"),
    ({"accepted": "trim.sequins"}, "accepted"),
    ({"accepted": [""]}, "accepted[0]"),
    ({"accepted": ["nothing.such"]}, "accepted[0]"),
    ({"overrides": ["fibre.unobtainium"]}, "overrides[0]"),
    ({"": 1}, ""),
    ({"Kind": "jeans"}, "Kind"),
    ("wool", "(whole)"),
    (None, "(whole)"),
    ([], "(whole)"),
    ([[]], "(whole)"),
]  # fmt: skip


@cache
def refusals() -> list[str]:
    done = command(json.dumps([given for given, _ in BAD]).encode())
    assert (done.returncode, done.stdout) == (2, b"")
    return done.stderr.decode().splitlines()


@pytest.mark.parametrize("number", range(len(BAD)), ids=[field for _, field in BAD])
def test_a_bad_input_is_refused_in_one_line_with_field_and_cure(number: int) -> None:
    (line,) = [line for line in refusals() if line.startswith(f"object {number}: ")]
    assert line.startswith(f"object {number}: field {BAD[number][1]}: value "), line
    assert len(line) < 2_000
    assert len(line.rsplit(": ", 1)[1]) > 5


@pytest.mark.parametrize(
    "given",
    [b"", b" \n", b"{", b"[1,]", b"[{}", b"{}{}", b'{"id": NaN', b"\xff\xfe{\x00}\x00", b"\x00",
     b'{"id": "\xe9"}', b"[" * 200_000, b'{"a":' * 50_000, b"nonsense", b"'{}'", b"{'id': 1}"],
    ids=lambda given: repr(given[:12]),
)  # fmt: skip
def test_what_is_no_json_is_refused_in_one_line_and_prints_nothing(
    given: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "facts.json"
    path.write_bytes(given)
    out, err = io.StringIO(), io.StringIO()
    assert run([str(path)], io.StringIO(), out, err) == 2
    assert (out.getvalue(), err.getvalue().count("\n")) == ("", 1)
    piped = io.TextIOWrapper(io.BytesIO(given), encoding="utf-8")
    assert run(["-"], piped, out, err) == 2
    assert (out.getvalue(), err.getvalue().count("\n")) == ("", 2)


@pytest.mark.parametrize(
    "given",
    [
        b'{"id": "\xe9"}',
        *(pytest.param(given, marks=pytest.mark.slow) for given in (b"", b"[" * 100_000)),
    ],
)
def test_the_command_itself_refuses_what_is_no_json(given: bytes) -> None:
    done = command(given)
    assert (done.returncode, done.stdout) == (2, b"")
    assert len(done.stderr.splitlines()) == 1


def test_a_folder_is_refused(tmp_path: Path) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert run([str(tmp_path)], io.StringIO(), out, err) == 2
    assert (out.getvalue(), err.getvalue().count("\n")) == ("", 1)


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "facts.json"
    path.write_bytes(b"\xef\xbb\xbf{}")
    out, err = io.StringIO(), io.StringIO()
    assert run([str(path)], io.StringIO(), out, err) == 0
    assert command(b"\xef\xbb\xbf{}").returncode == 0


def test_long_lists_and_repeats_are_decided_as_their_set() -> None:
    many = piece("cotton", FULL, stains=["grass"] * 5_000, trims=["metal_zip"] * 5_000)
    once = piece("cotton", FULL, stains=["grass"], trims=["metal_zip"])
    assert decide_json(many) == decide_json(once)


def test_one_fault_at_the_end_of_a_long_array_prints_no_decision_at_all() -> None:
    done = command(json.dumps([piece("cotton", FULL)] * 500 + [{"colour": "red"}]).encode())
    assert (done.returncode, done.stdout) == (2, b"")
    (line,) = done.stderr.decode().splitlines()
    assert line.startswith('object 500: field colour: value "red": ')
