"""Care symbol drawings carry the parts the public descriptions of ISO 3758 name.

PARTS restates those descriptions (read: GINETEX table of textile care symbols and the JIS L 0001
list for which symbols exist; from memory: the shapes themselves, as the symbol table says).
"""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from care_rules import catalogue, pictograms

DRAWN = pictograms.keys()
SVG = "{http://www.w3.org/2000/svg}"
SPRITE_FILE = Path(__file__).parents[2] / "counter" / "static" / "counter" / "care.svg"

# A US label's medium heat is drawn as the two dots that ISO 3758 uses for normal heat: the
# drawing cannot tell them apart, only the label's country can.
DRAWN_ALIKE = [{"tumble_normal", "us_tumble_medium"}]

# Crossed though their keys do not start with "no_".
ALSO_CROSSED = {"us_do_not_wring", "iron_120_no_steam"}

_TUB = "tub water "
_DRYER = "square circle "

PARTS = {
    "wash_95": _TUB + "digit=9 digit=5",
    "wash_70": _TUB + "digit=7 digit=0",
    "wash_60": _TUB + "digit=6 digit=0",
    "wash_60_mild": _TUB + "digit=6 digit=0 bar",
    "wash_50": _TUB + "digit=5 digit=0",
    "wash_50_mild": _TUB + "digit=5 digit=0 bar",
    "wash_40": _TUB + "digit=4 digit=0",
    "wash_40_mild": _TUB + "digit=4 digit=0 bar",
    "wash_40_very_mild": _TUB + "digit=4 digit=0 bar bar",
    "wash_30": _TUB + "digit=3 digit=0",
    "wash_30_mild": _TUB + "digit=3 digit=0 bar",
    "wash_30_very_mild": _TUB + "digit=3 digit=0 bar bar",
    "hand_wash": _TUB + "hand",
    "hand_wash_30": _TUB + "hand bar",
    "no_wash": _TUB + "cross",
    "bleach_any": "triangle",
    "bleach_oxygen_only": "triangle oblique oblique",
    "no_bleach": "triangle cross",
    "tumble_normal": _DRYER + "dot dot",
    "tumble_low": _DRYER + "dot",
    "no_tumble": _DRYER + "cross",
    "line_dry": "square upright",
    "drip_line_dry": "square upright upright",
    "flat_dry": "square level",
    "drip_flat_dry": "square level level",
    "line_dry_shade": "square upright shade",
    "drip_line_dry_shade": "square upright upright shade",
    "flat_dry_shade": "square level shade",
    "drip_flat_dry_shade": "square level level shade",
    "iron_200": "iron dot dot dot",
    "iron_150": "iron dot dot",
    "iron_110": "iron dot",
    "iron_120_no_steam": "iron dot steam steam cross",
    "no_iron": "iron cross",
    "dry_clean_p": "circle letter=P",
    "dry_clean_p_mild": "circle letter=P bar",
    "dry_clean_p_very_mild": "circle letter=P bar bar",
    "dry_clean_f": "circle letter=F",
    "dry_clean_f_mild": "circle letter=F bar",
    "dry_clean_f_very_mild": "circle letter=F bar bar",
    "no_dry_clean": "circle cross",
    "wet_clean_w": "circle letter=W",
    "wet_clean_w_mild": "circle letter=W bar",
    "wet_clean_w_very_mild": "circle letter=W bar bar",
    "no_wet_clean": "disc cross",
    "legacy_dry_clean_a": "circle letter=A",
    "us_tumble_medium": _DRYER + "dot dot",
    "us_tumble_no_heat": "square disc",
    "us_do_not_wring": "cloth cross",
    "not_on_label": "absent",
    "unreadable": "label smudge",
    "no_label": "seam stub",
}


def parse(text: str) -> ElementTree.Element:
    return ElementTree.XML(text)


def root(key: str) -> ElementTree.Element:
    return parse(pictograms.svg(key))


def shapes(key: str, part: str) -> list[ElementTree.Element]:
    return [shape for shape in root(key).iter() if shape.get("data-part") == part]


def numbers(shape: ElementTree.Element, *names: str) -> list[float]:
    return [float(shape.attrib[name]) for name in names]


def points(shape: ElementTree.Element) -> list[tuple[float, float]]:
    """Corners of a path made of straight M and L pieces."""
    pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", shape.attrib["d"])
    return [(float(x), float(y)) for x, y in pairs]


def table_keys() -> list[str]:
    return [symbol.key for symbol in catalogue.symbols()]


def test_every_symbol_in_the_table_has_a_drawing_and_nothing_else_is_drawn() -> None:
    assert sorted([*table_keys(), *pictograms.SPECIAL_KEYS]) == sorted(DRAWN)


def test_every_drawing_is_checked_against_a_description() -> None:
    assert sorted(PARTS) == sorted(DRAWN)


@pytest.mark.parametrize("key", PARTS)
def test_drawing_has_exactly_the_described_parts(key: str) -> None:
    drawn = Counter(
        shape.attrib["data-part"]
        + ("=" + shape.attrib["data-glyph"] if "data-glyph" in shape.attrib else "")
        for shape in root(key).iter()
        if "data-part" in shape.attrib
    )

    assert drawn == Counter(PARTS[key].split())


def test_no_two_drawings_are_alike_but_the_known_pair() -> None:
    by_drawing: dict[str, set[str]] = {}
    for key in DRAWN:
        by_drawing.setdefault(pictograms.svg(key), set()).add(key)

    assert [same for same in by_drawing.values() if len(same) > 1] == DRAWN_ALIKE


def test_figures_read_in_order() -> None:
    for key in (key for key in DRAWN if key.startswith("wash_")):
        digits = shapes(key, "digit")
        left = [re.findall(r"[\d.]+", digit.attrib["transform"])[0] for digit in digits]

        assert "".join(digit.attrib["data-glyph"] for digit in digits) == key.split("_")[1]
        assert [float(x) for x in left] == sorted(float(x) for x in left)


def test_each_figure_and_letter_has_its_own_outline() -> None:
    outlines: dict[str, set[str]] = {}
    for key in DRAWN:
        for shape in shapes(key, "digit") + shapes(key, "letter"):
            outlines.setdefault(shape.attrib["data-glyph"], set()).add(shape.attrib["d"])

    assert sorted(outlines) == sorted("0345679AFPW")
    assert all(len(drawn) == 1 for drawn in outlines.values())
    assert len(set.union(*outlines.values())) == len(outlines)


def test_cross_is_drawn_exactly_on_what_is_forbidden() -> None:
    crossed = {key for key in DRAWN if shapes(key, "cross")}
    forbidden = {key for key in table_keys() if key.startswith("no_")}

    assert crossed == forbidden | ALSO_CROSSED


def test_drawing_counts_agree_with_the_words_in_the_symbol_table() -> None:
    count = {"one": 1, "two": 2, "three": 3}
    for symbol in catalogue.symbols():
        words = symbol.geometry
        bars = re.search(r"(one|two)(?: horizontal)? bars? under", words)
        dots = re.search(r"(one|two|three) dots?", words)
        number = re.search(r"number (\d+)", words)

        assert len(shapes(symbol.key, "bar")) == (count[bars[1]] if bars else 0), symbol.key
        assert len(shapes(symbol.key, "dot")) == (count[dots[1]] if dots else 0), symbol.key
        assert bool(shapes(symbol.key, "cross")) == (" cross " in words), symbol.key
        drawn = "".join(digit.attrib["data-glyph"] for digit in shapes(symbol.key, "digit"))
        assert drawn == (number[1] if number else ""), symbol.key


def test_gentler_bars_follow_the_process_name() -> None:
    wanted = {key: 2 if key.endswith("_very_mild") else 1 for key in PARTS if "mild" in key}
    wanted["hand_wash_30"] = 1

    assert {k: len(shapes(k, "bar")) for k in PARTS if shapes(k, "bar")} == wanted


@pytest.mark.parametrize("key", [key for key in PARTS if "bar" in PARTS[key].split()])
def test_bars_are_level_and_lie_below_the_tub_or_circle_one_below_the_other(key: str) -> None:
    if shapes(key, "tub"):
        base = 47.0
        assert shapes(key, "tub")[0].attrib["d"] == "M3 8L11 47H53L61 8"
    else:
        _, cy, r = numbers(shapes(key, "circle")[0], "cx", "cy", "r")
        base = cy + r
    heights = []
    for bar in shapes(key, "bar"):
        y1, y2 = numbers(bar, "y1", "y2")
        assert y1 == y2
        heights.append(y1)

    stroke = 3
    for above, below in pairwise([base, *heights]):
        assert below - above > stroke + 2
    assert heights[-1] + stroke / 2 <= 64


def test_iron_and_dryer_dots_count_the_heat() -> None:
    assert {key: len(shapes(key, "dot")) for key in PARTS if shapes(key, "dot")} == {
        "iron_200": 3,
        "iron_150": 2,
        "iron_110": 1,
        "iron_120_no_steam": 1,
        "tumble_normal": 2,
        "tumble_low": 1,
        "us_tumble_medium": 2,
    }


def test_dots_are_solid_side_by_side_and_apart() -> None:
    for key in PARTS:
        dots = [numbers(dot, "cx", "cy", "r") for dot in shapes(key, "dot")]
        assert all(dot.get("fill") == "currentColor" for dot in shapes(key, "dot"))
        for (x1, y1, r1), (x2, y2, r2) in pairwise(dots):
            assert y1 == y2
            assert x2 - x1 > r1 + r2 + 2


def test_only_dots_and_described_discs_are_solid() -> None:
    solid = {
        shape.attrib["data-part"]
        for key in PARTS
        for shape in root(key).iter()
        if "data-part" in shape.attrib and shape.get("fill", "none") != "none"
    }

    assert solid == {"dot", "disc"}


def test_bleach_triangle_is_equilateral_and_points_up() -> None:
    apex, left, right = points(shapes("bleach_any", "triangle")[0])

    assert apex[1] < left[1] == right[1]
    sides = [math.dist(apex, left), math.dist(apex, right), math.dist(left, right)]
    assert max(sides) - min(sides) < 0.5


def test_oxygen_bleach_lines_are_parallel_and_run_up_to_the_right() -> None:
    slopes = []
    for line in shapes("bleach_oxygen_only", "oblique"):
        x1, y1, x2, y2 = numbers(line, "x1", "y1", "x2", "y2")
        assert x2 > x1
        slopes.append((y1 - y2) / (x2 - x1))

    assert slopes[0] > 1
    assert slopes[0] == pytest.approx(slopes[1], rel=0.01)


def test_cross_arms_reach_past_the_solid_disc_so_they_show() -> None:
    cx, cy, r = numbers(shapes("no_wet_clean", "disc")[0], "cx", "cy", "r")
    ends = points(shapes("no_wet_clean", "cross")[0])

    assert len(ends) == 4
    assert all(math.dist((cx, cy), end) > r + 10 for end in ends)


def test_no_steam_cross_lies_below_the_sole_plate_and_covers_the_steam() -> None:
    ends = points(shapes("iron_120_no_steam", "cross")[0])
    raised = root("iron_120_no_steam").find(f"{SVG}g")
    assert raised is not None
    assert raised.attrib["transform"] == "translate(0 -11)"
    sole = 51 - 11

    assert min(y for _, y in ends) > sole + 3
    for steam in shapes("iron_120_no_steam", "steam"):
        x, top = numbers(steam, "x1", "y1")
        assert min(end[0] for end in ends) < x < max(end[0] for end in ends)
        assert top > sole + 3


def test_drying_lines_stand_or_lie_and_shade_cuts_the_top_left_corner() -> None:
    for key in PARTS:
        for line in shapes(key, "upright"):
            x1, x2 = numbers(line, "x1", "x2")
            assert x1 == x2
        for line in shapes(key, "level"):
            y1, y2 = numbers(line, "y1", "y2")
            assert y1 == y2
        for line in shapes(key, "shade"):
            left, top = numbers(shapes(key, "square")[0], "x", "y")
            x1, y1, x2, y2 = numbers(line, "x1", "y1", "x2", "y2")
            assert (x1, y2) == (left, top)
            assert (y1 - top, x2 - left) == (17, 17)


@pytest.mark.parametrize("key", PARTS)
def test_drawing_needs_no_style_script_or_font(key: str) -> None:
    drawing = root(key)
    allowed = {SVG + name for name in ("svg", "g", "path", "line", "circle", "rect")}

    assert {shape.tag for shape in drawing.iter()} <= allowed
    for shape in drawing.iter():
        assert not {"style", "class", "id"} & set(shape.attrib)
    assert drawing.attrib["viewBox"] == "0 0 64 64"
    assert (drawing.attrib["stroke"], drawing.attrib["fill"]) == ("currentColor", "none")


def test_drawing_with_a_title_is_announced_by_it() -> None:
    drawing = parse(pictograms.svg("wash_30", title='Wash <40 & "gentle"'))

    assert drawing.attrib["role"] == "img"
    assert drawing[0].tag == SVG + "title"
    assert drawing[0].text == 'Wash <40 & "gentle"'
    assert "aria-hidden" not in drawing.attrib


def test_drawing_without_a_title_is_hidden_from_screen_readers() -> None:
    drawing = root("wash_30")

    assert drawing.attrib["aria-hidden"] == "true"
    assert "role" not in drawing.attrib
    assert drawing.find(SVG + "title") is None


def test_unknown_key_is_refused_by_name() -> None:
    with pytest.raises(LookupError, match="'wash_31' has no drawing"):
        pictograms.svg("wash_31")


def test_sprite_holds_each_drawing_once_under_its_own_name() -> None:
    sheet = parse(pictograms.sprite())

    assert [symbol.tag for symbol in sheet] == [SVG + "symbol"] * len(DRAWN)
    assert [symbol.attrib["id"] for symbol in sheet] == [f"care-{k}" for k in DRAWN]
    for key, symbol in zip(DRAWN, sheet, strict=True):
        assert symbol.attrib["viewBox"] == root(key).attrib["viewBox"]
        assert [ElementTree.tostring(s) for s in symbol] == [
            ElementTree.tostring(s) for s in root(key)
        ]


def test_served_sprite_file_is_current(tmp_path: Path) -> None:
    pictograms.write_sprite(tmp_path / "care.svg")

    assert (tmp_path / "care.svg").read_text(encoding="utf-8") == pictograms.sprite()
    assert SPRITE_FILE.read_text(encoding="utf-8") == pictograms.sprite(), (
        f"{SPRITE_FILE.name} is behind the drawings: run write_sprite() on it"
    )
