"""Every outline is closed, inside its box, symmetric, and divided among its places."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from care_rules import catalogue
from tests.approved import assert_approved
from tickets.workroom.marks import place_at
from tickets.workroom.outlines import KIND_OUTLINES, OUTLINES, outline_of
from tickets.workroom.sides import EDGE, SIDES, GarmentSide, Region
from tickets.workroom.strokes import polygons
from tickets.workroom.wording import place_name

GARMENT_SIDES = [pytest.param(key, side, id=f"{key}-{side}") for key in OUTLINES for side in SIDES]

STANDING_SHOES = ("shoes", "front")
"""One shoe above the other: the only side that is not the same left and right of the middle."""

WIDTH, HEIGHT = 120, 134
"""The box that every side is drawn in, as the drawn pages have it."""

GRID = [(x + 0.373, y + 0.419) for x in range(0, 120, 3) for y in range(1, 134, 3)]
"""Points three units apart, on no line between two places."""

Places = dict[tuple[float, float], str | None]


def garment_side(key: str, side: str) -> GarmentSide:
    return OUTLINES[key].side(side)


@cache
def places_of(key: str, side: str) -> Places:
    return {(x, y): place_at(OUTLINES[key], side, x, y) for x, y in GRID}


@cache
def mirror_places_of(key: str, side: str) -> Places:
    return {(x, y): place_at(OUTLINES[key], side, WIDTH - x, y) for x, y in GRID}


def test_as_approved() -> None:
    """Each stroke and region of each side, as it was looked at when it was drawn."""
    listing = []
    for key, outline in OUTLINES.items():
        for side in SIDES:
            drawn = outline.side(side)
            listing += [f"{key} {side} {stroke.kind}: {stroke.data}" for stroke in drawn.strokes]
            for kind, regions in (("tile", drawn.tiles), ("detail", drawn.details)):
                start = f"{key} {side} {kind}"
                listing += [f"{start} {region.place}: {corners(region)}" for region in regions]
    assert_approved(listing, Path(__file__).parent / "approved" / "outlines.txt")


def corners(region: Region) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in region.polygon.corners)


def test_the_kinds_that_were_asked_for_are_drawn_and_some_more() -> None:
    assert OUTLINES.keys() >= {
        "shirt", "blouse", "jumper", "tshirt", "jacket", "coat", "trousers", "jeans", "shorts",
        "skirt", "dress", "gown", "tie", "duvet", "curtain", "shoes",
        "waistcoat", "scarf", "bag", "hat", "suit", "plain",
    }  # fmt: skip


def test_every_kind_of_the_tables_has_an_outline() -> None:
    kinds = {entry.key for entry in catalogue.kinds()}
    assert KIND_OUTLINES.keys() - kinds == set()
    assert outline_of("shirt_cotton").key == "shirt"
    assert outline_of("towel_bath_70x140").key == "plain"
    assert outline_of("a kind of tomorrow").key == "plain"


@pytest.mark.parametrize(("key", "side"), GARMENT_SIDES)
def test_every_edge_is_closed_and_every_line_is_inside_the_box(key: str, side: str) -> None:
    for stroke in garment_side(key, side).strokes:
        letters = [segment.letter for segment in stroke.path]
        if stroke.kind == EDGE:
            assert letters.count("M") == 1
            assert letters[-1] == "Z"
        corners = [point for line in polygons(stroke.path) for point in line]
        assert all(2 <= x <= WIDTH - 2 and 2 <= y <= HEIGHT - 2 for x, y in corners), stroke.data


@pytest.mark.parametrize(("key", "side"), GARMENT_SIDES)
def test_cloth_is_the_same_left_and_right_of_the_middle(key: str, side: str) -> None:
    mirror = mirror_places_of(key, side)
    uneven = [
        point
        for point, place in places_of(key, side).items()
        if (place is None) != (mirror[point] is None)
    ]
    assert (uneven == []) == ((key, side) != STANDING_SHOES)


@pytest.mark.parametrize("key", OUTLINES)
def test_front_and_back_are_told_apart(key: str) -> None:
    front, back = (garment_side(key, side) for side in SIDES)
    assert {stroke.data for stroke in front.strokes} != {stroke.data for stroke in back.strokes}


@pytest.mark.parametrize(("key", "side"), GARMENT_SIDES)
def test_tiles_share_all_cloth_among_them_and_none_twice(key: str, side: str) -> None:
    garment = garment_side(key, side)
    shares = {
        point: [tile.place for tile in garment.tiles if tile.polygon.holds(*point)]
        for point in GRID
        if garment.has(*point)
    }
    assert {point: tiles for point, tiles in shares.items() if len(tiles) != 1} == {}
    assert len(shares) > 200  # a tenth of the box


@pytest.mark.parametrize(("key", "side"), GARMENT_SIDES)
def test_every_place_can_be_pointed_at(key: str, side: str) -> None:
    """Each has a point of the grid that no detail above it takes."""
    garment = garment_side(key, side)
    names = {region.place for region in (*garment.tiles, *garment.details)}
    assert names - set(places_of(key, side).values()) == set()


def mirror_place(place: str | None) -> str | None:
    if place is None:
        return None
    for hand, other in (("left_", "right_"), ("right_", "left_")):
        if place.startswith(hand):
            return other + place.removeprefix(hand)
    return place


@pytest.mark.parametrize(
    ("key", "side"), [case for case in GARMENT_SIDES if tuple(case.values) != STANDING_SHOES]
)
def test_the_mirror_point_lies_in_the_mirror_place(key: str, side: str) -> None:
    alone = {"left_pocket", "left_breast_pocket", "fly", "vent"}
    mirror = mirror_places_of(key, side)
    uneven = {
        point: (place, mirror[point])
        for point, place in places_of(key, side).items()
        if mirror_place(place) != mirror[point] and not {place, mirror[point]} & alone
    }
    assert uneven == {}


@pytest.mark.parametrize(
    ("kind", "side", "x", "y", "place"),
    [
        # Left is the wearer's: at the right of who looks at the front, at the left of the back.
        ("shirt_cotton", "front", 108, 101, "left_cuff"),
        ("shirt_cotton", "front", 12, 101, "right_cuff"),
        ("shirt_cotton", "back", 12, 101, "left_cuff"),
        ("shirt_cotton", "front", 75, 54, "left_pocket"),
        ("shirt_cotton", "front", 45, 54, "right_chest"),
        ("shirt_cotton", "back", 60, 30, "yoke"),
        ("shirt_cotton", "front", 60, 70, "button_band"),
        ("shirt_cotton", "front", 2, 2, None),
        ("suit_jacket", "front", 74, 46, "left_lapel"),
        ("trousers_wool", "back", 44, 40, "left_seat"),
        ("trousers_wool", "front", 76, 84, "left_knee"),
        ("trousers_wool", "front", 60, 110, None),  # between the legs
        ("dress_summer", "back", 60, 40, "zip"),
        ("tie", "front", 60, 120, "point"),
        ("tie", "front", 60, 15, None),  # through the loop
        # Nobody wears a duvet: left is left for who looks at that side.
        ("duvet_king", "front", 30, 20, "left_upper_part"),
        ("duvet_king", "back", 30, 20, "left_upper_part"),
        ("napkin", "front", 90, 110, "right_lower_part"),
    ],
)
def test_a_point_is_named(kind: str, side: str, x: float, y: float, place: str | None) -> None:
    assert place_at(outline_of(kind), side, x, y) == place


def test_the_left_shoe_stands_above_the_right_one() -> None:
    shoes = OUTLINES["shoes"]
    assert place_at(shoes, "front", 20, 46) == "left_toe"
    assert place_at(shoes, "front", 100, 113) == "right_toe"
    assert place_at(shoes, "back", 32, 110) == "left_heel"


@pytest.mark.parametrize(("x", "y"), [(-1, 5), (121, 5), (5, -1), (5, 135), (float("nan"), 5)])
def test_a_point_outside_the_box_is_refused(x: float, y: float) -> None:
    with pytest.raises(ValueError, match="give a point from 0, 0 to 120, 134"):
        place_at(OUTLINES["shirt"], "front", x, y)


@pytest.mark.parametrize("key", OUTLINES)
def test_every_place_has_words_and_no_two_of_a_side_the_same(key: str) -> None:
    for side in SIDES:
        regions: tuple[Region, ...] = (
            *garment_side(key, side).tiles,
            *garment_side(key, side).details,
        )
        names = {region.place for region in regions}
        assert len({place_name(name) for name in names}) == len(names)


def test_a_point_on_the_line_between_two_places_has_one_of_them() -> None:
    """Points of an armhole, where rounding put neither the sleeve nor the body round them."""
    coat = garment_side("coat", "front")
    points = [(39.8, 21.0), (39.9, 21.75), (40.3, 24.75), (40.4, 25.5)]
    assert {coat.place(x, y) for x, y in points} == {"right_shoulder", "right_chest"}
