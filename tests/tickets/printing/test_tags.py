"""Tags: sizes read back in millimetres, every code decoded, nothing outside the label."""

from dataclasses import replace
from itertools import groupby
from typing import Any

import pypdfium2.raw as pdfium_c
import pytest
import zxingcpp

from tests.tickets.printing import reading
from tickets.numbers import NumberError, piece_code
from tickets.printing import TAG_SIZES, PaperError, TagData, build_tags
from tickets.printing.bars import code128_modules, qr_modules, whole_dots
from tickets.printing.canvas import square_code

SHEETS = [key for key, size in TAG_SIZES.items() if size.per_page > 1]
ROLLS = [key for key in TAG_SIZES if key not in SHEETS]
EVERY_SIZE = list(TAG_SIZES)


def tag(position: int = 1, count: int = 12, **changes: object) -> TagData:
    plain = TagData(
        code=piece_code(1004821, position),
        customer_short="Petersen, M.",
        promise_day="Thu 4 Dec",
        limits=("Wash 30 °C, very gentle", "No tumble dryer", "Iron up to 110 °C"),
        set_mark="A" if position % 2 else "",
        position=position,
        count=count,
        kind="Wool jumper",
        shop_name="Linden Lane Laundry",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


LONG: dict[str, Any] = {
    "customer_short": "Hohenberg-Waldenfels-Unterkirchner, Maximiliane Friederike " * 3,
    "promise_day": "Wednesday 24 December in the late afternoon",
    "limits": ("Never wash, only a professional wet process, very gentle and cool " * 4,) * 3,
    "set_mark": "LONG MARK 99",
    "kind": "Long evening dress with train, silk lining and glass beads " * 2,
    "shop_name": "The Laundry and Mending Rooms at the Far End of Linden Lane " * 2,
}


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("roll-62", (62.0, 50.0)),
        ("roll-29", (29.0, 92.0)),
        ("strip", (25.4, 140.0)),
        # ISO 216 and ANSI/ASME Y14.1.
        ("sheet-a4", (210.0, 297.0)),
        ("sheet-letter", (215.9, 279.4)),
    ],
)
def test_the_page_has_the_size_of_the_stock(key: str, expected: tuple[float, float]) -> None:
    assert reading.sizes_mm(build_tags([tag()], key)) == [expected]


def test_every_size_is_named_here() -> None:
    assert EVERY_SIZE == ["roll-62", "roll-29", "strip", "sheet-a4", "sheet-letter"]
    assert SHEETS == ["sheet-a4", "sheet-letter"]


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_the_grid_of_labels_stays_on_its_page(key: str) -> None:
    size = TAG_SIZES[key]
    left, top = size.place(size.per_page - 1)
    assert left + size.label_w <= size.page_w + 0.01
    assert top + size.label_h <= size.page_h + 0.01


def test_a_square_code_is_one_shape() -> None:
    """A tag printed by the dozen stays light: not one shape for each of 200 dark squares."""
    printed = build_tags([tag(set_mark="", limits=())], "roll-62")
    kinds = [shape.type for page in reading.pages(printed) for shape in page.get_objects()]
    # ISO/IEC 15417: start, five pairs of figures and a check sign have three bars each, the
    # stop sign has four. Beside them stand the square code and the rule between the groups.
    assert kinds.count(pdfium_c.FPDF_PAGEOBJ_PATH) == 7 * 3 + 4 + 2


def test_a_second_print_is_the_same_to_the_byte_as_the_first() -> None:
    printed = [tag(position) for position in range(1, 4)]
    square_code.cache_clear()
    qr_modules.cache_clear()
    assert build_tags(printed, "roll-29") == build_tags(printed, "roll-29")


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", ROLLS)
def test_each_roll_tag_decodes_to_its_own_number_in_bars_and_square(key: str, dpi: int) -> None:
    tags = [tag(position) for position in range(1, 13)]
    codes = [reading.codes(image) for image in reading.images(build_tags(tags, key, dpi), dpi)]
    assert codes == [[("Code 128", spec.code), ("QR Code", spec.code)] for spec in tags]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", SHEETS)
@pytest.mark.parametrize("count", range(1, 13))
def test_each_sheet_of_one_to_twelve_tags_decodes(key: str, dpi: int, count: int) -> None:
    size = TAG_SIZES[key]
    tags = [tag(position, count) for position in range(1, count + 1)]
    codes = [reading.codes(image) for image in reading.images(build_tags(tags, key, dpi), dpi)]
    wanted = [tags[start : start + size.per_page] for start in range(0, count, size.per_page)]
    assert codes == [
        sorted((kind, spec.code) for spec in page for kind in ("Code 128", "QR Code"))
        for page in wanted
    ]


@pytest.mark.parametrize("dpi", [203, 300, pytest.param(600, marks=pytest.mark.slow)])
@pytest.mark.parametrize("key", EVERY_SIZE)
def test_every_bar_is_a_whole_number_of_printer_dots(key: str, dpi: int) -> None:
    spec = tag(7)
    (image,) = reading.dot_images(build_tags([spec], key, dpi), dpi)
    if TAG_SIZES[key].turned:
        image = image.rotate(90, expand=True)
    dots = whole_dots(0.25, dpi)
    expected = [
        (0 if module == "1" else 255, len(list(group)) * dots)
        for module, group in groupby(code128_modules(spec.code))
    ]
    # Pure black and white, too: no dot is half covered.
    assert reading.bar_runs(image) == [expected]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", EVERY_SIZE)
def test_ten_modules_either_side_of_the_bars_stay_white(key: str, dpi: int) -> None:
    # ISO/IEC 15417 asks for a quiet zone of ten modules.
    spec = tag(7, **LONG)
    (image,) = reading.dot_images(build_tags([spec], key, dpi), dpi)
    if TAG_SIZES[key].turned:
        image = image.rotate(90, expand=True)
    (box,) = [
        code.position for code in zxingcpp.read_barcodes(image) if str(code.format) == "Code 128"
    ]
    quiet = 10 * whole_dots(0.25, dpi)
    top, foot = box.top_left.y + 3, box.bottom_left.y - 3
    left, right = box.top_left.x, box.top_right.x
    assert left - quiet + 2 >= 0
    assert right + quiet - 2 <= image.width
    assert reading.ink(image.crop((left - quiet + 2, top, left - 2, foot))) is None
    assert reading.ink(image.crop((right + 3, top, right + quiet - 2, foot))) is None


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_overlong_words_neither_leave_the_label_nor_spoil_its_codes(key: str) -> None:
    size = TAG_SIZES[key]
    spec = tag(3, **LONG)
    (image,) = reading.images(build_tags([spec], key, 300), 300)
    assert reading.codes(image) == [("Code 128", spec.code), ("QR Code", spec.code)]
    box = reading.ink(image)
    assert box is not None
    left, top = size.place(0)
    dot = 25.4 / 300
    margin = 1.5
    assert box[0] * dot >= left + margin
    assert box[1] * dot >= top + margin
    assert box[2] * dot <= left + size.label_w - margin
    assert box[3] * dot <= top + size.label_h - margin


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_a_tag_says_number_name_day_piece_set_and_limits(key: str) -> None:
    (text,) = reading.words(build_tags([tag(1, 5)], key))
    for word in (
        "1004821-01",
        "Petersen, M.",
        "ready Thu 4 Dec",
        "piece 1 of 5",
        "Wool jumper",
        "set A",
        "Wash 30 °C, very gentle",
        "No tumble dryer",
        "Iron up to 110 °C",
    ):
        assert word in text


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_long_names_end_in_an_ellipsis_and_long_limits_are_wrapped_first(key: str) -> None:
    limits = ("Do not wash: professional wet cleaning only, very gentle", "No bleach")
    spec = tag(2, customer_short=LONG["customer_short"], limits=limits)
    (text,) = reading.words(build_tags([spec], key))
    assert "Hohenberg" in text
    assert "…" in text
    assert "Unterkirchner, Maximiliane Friederike Hohenberg" not in text
    # A turned page gives its lines back in another order, but loses no word.
    assert [word for word in " ".join(limits).split() if word not in text] == []


@pytest.mark.parametrize("key", EVERY_SIZE)
def test_a_tag_without_limits_says_to_ask_and_never_looks_free_of_them(key: str) -> None:
    (text,) = reading.words(build_tags([tag(2, limits=())], key))
    assert "No limit on this tag: look at the screen." in text


@pytest.mark.parametrize("key", SHEETS)
def test_a_partly_used_sheet_starts_at_the_free_place(key: str) -> None:
    size = TAG_SIZES[key]
    start = size.per_page - 1
    tags = [tag(1), tag(2), tag(3)]
    first, second = reading.images(build_tags(tags, key, 300, start_at=start), 300)
    assert reading.codes(first) == sorted(
        (kind, spec.code) for spec in tags[:2] for kind in ("Code 128", "QR Code")
    )
    left, top = size.place(start - 1)
    box = reading.ink(first)
    assert box is not None
    dot = 25.4 / 300
    # The first free place is in the last row, so all rows above it stay white.
    assert box[1] * dot >= top
    assert box[0] * dot >= left
    assert reading.codes(second) == [("Code 128", tags[2].code), ("QR Code", tags[2].code)]


@pytest.mark.parametrize(
    ("key", "start"), [("sheet-a4", 0), ("sheet-a4", 22), ("sheet-letter", 11), ("roll-62", 2)]
)
def test_a_place_that_the_stock_lacks_is_refused(key: str, start: int) -> None:
    with pytest.raises(PaperError, match=f"Start place {start} .* from 1 to"):
        build_tags([tag()], key, start_at=start)


def test_bad_tags_are_refused_with_value_and_cure() -> None:
    with pytest.raises(PaperError, match=r"“roll-63” is not known. Choose one of: roll-62"):
        build_tags([tag()], "roll-63")
    with pytest.raises(PaperError, match="Add a piece"):
        build_tags([], "roll-62")
    with pytest.raises(PaperError, match="has 4 limits"):
        tag(limits=("a", "b", "c", "d"))
    with pytest.raises(PaperError, match="needs the ten digits"):
        tag(code="1004821")
    with pytest.raises(PaperError, match="needs the ten digits"):
        tag(code="1004821-07")
    with pytest.raises(NumberError, match="does not fit"):
        tag(code="1004821023")
    with pytest.raises(PaperError, match="piece 6 of 5"):
        tag(6, 5)
    with pytest.raises(ValueError, match="give 150 or more"):
        build_tags([tag()], "roll-62", dpi=96)


def test_the_same_tags_give_the_same_bytes() -> None:
    assert build_tags([tag()], "roll-62") == build_tags([tag()], "roll-62")


@pytest.mark.parametrize("key", ROLLS)
def test_with_any_one_dot_of_the_print_head_dead_a_tag_still_scans(key: str) -> None:
    spec = tag(7)
    (image,) = reading.dot_images(build_tags([spec], key, 203), 203)
    lost = []
    for dot in range(0, image.width, 3):
        worn = image.copy()
        worn.paste(255, (dot, 0, dot + 1, image.height))
        codes = {text for _kind, text in reading.codes(worn)}
        # The head lies across the page. Some code must read, and none may read wrongly.
        if codes != {spec.code}:
            lost.append(dot)
    assert lost == []


@pytest.mark.parametrize("key", ["roll-29", "strip"])
def test_bars_laid_across_the_feed_survive_a_dead_dot_by_themselves(key: str) -> None:
    spec = tag(7)
    (image,) = reading.dot_images(build_tags([spec], key, 203), 203)
    for dot in range(0, image.width, 3):
        worn = image.copy()
        worn.paste(255, (dot, 0, dot + 1, image.height))
        assert ("Code 128", spec.code) in reading.codes(worn), dot
