"""Customers' names in many scripts: each letter has a shape, and it is not the missing box."""

import unicodedata

import pytest
from PIL import Image, ImageChops

from tests.tickets.printing import reading
from tickets.numbers import piece_code
from tickets.printing import TagData, build_tags, fonts
from tickets.printing.canvas import Sheet
from tickets.wording import short_name

LEFT_TO_RIGHT = {
    "Polish": "Łucja Świętosława Żółć",
    "Czech": "Přemysl Říčař Ďáblík",
    "Hungarian": "Örzsébet Tűzkő",
    "Turkish": "İğdır Şükrü Çağlayan",
    "Romanian": "Ștefan Țăranu",
    "Vietnamese": "Nguyễn Thị Ngọc Bích",
    "Icelandic": "Þorgerður Æsa Öðinsdóttir",
    "Latvian": "Ģirts Ķēniņš",
    "Maltese": "Ġorġ Ħaż-Żebbuġ",
    "Hausa": "Ɓala Ɗanjuma Ƙasim",
    "Greek": "Ελένη Παπαδοπούλου",
    "Russian": "Ёлка Щукина",
    "Ukrainian": "Їжакевич Ґалаґан Євген",
    "Serbian": "Ђорђе Њежић Џаџић",
    "Kazakh": "Әйгерім Қожа Ұлы",
    "Armenian": "Անահիտ Պետրոսյան",
    "Georgian": "ნინო ბერიძე",
    "Chinese, simplified": "王小明 欧阳娜",
    "Chinese, traditional": "陳美玲 歐陽娜",
    "Japanese": "さくら サクラ 佐藤櫻子",
    "Korean": "김민준 황보라",
}
RIGHT_TO_LEFT = {
    "Arabic": "محمد عبد الله",
    "Persian": "گلچهره پژمان",
    "Urdu": "ٹیپو ڈار",
    "Hebrew": "שרה לוי",
}
NOT_PRINTED = {"Thai": "สมชาย", "Hindi": "राम", "Tamil": "குமார்", "emoji": "🙂"}


def tag_for(name: str) -> TagData:
    return TagData(
        code=piece_code(1004821, 1),
        customer_short=name,
        promise_day="Thu 4 Dec",
        limits=(),
        set_mark="",
        position=1,
        count=1,
        kind="",
        shop_name="",
    )


def drawn(text: str) -> Image.Image:
    sheet = Sheet(40, 30, dpi=203, title="", author="")
    sheet.text(8, 20, text, 40)
    (image,) = reading.images(sheet.finish(), 203)
    return image


@pytest.mark.parametrize("name", LEFT_TO_RIGHT.values(), ids=LEFT_TO_RIGHT.keys())
def test_a_name_prints_and_can_be_read_out_of_the_paper(name: str) -> None:
    assert fonts.missing(name) == set()
    (text,) = reading.words(build_tags([tag_for(name)], "sheet-letter"))
    assert name in unicodedata.normalize("NFC", text)


@pytest.mark.parametrize(
    "name",
    [*LEFT_TO_RIGHT.values(), *RIGHT_TO_LEFT.values()],
    ids=[*LEFT_TO_RIGHT, *RIGHT_TO_LEFT],
)
def test_each_letter_leaves_ink_that_is_not_the_missing_box(name: str) -> None:
    box = drawn(fonts.MISSING_BOX)
    boxes_of_fonts = [box, drawn("สมชาย"[0])]
    for letter in set(name) - {" "}:
        image = drawn(letter)
        assert reading.ink(image) is not None, letter
        for other in boxes_of_fonts:
            assert ImageChops.difference(image, other).getbbox() is not None, letter


@pytest.mark.parametrize("name", RIGHT_TO_LEFT.values(), ids=RIGHT_TO_LEFT.keys())
def test_right_to_left_names_are_drawn_from_the_right(name: str) -> None:
    # Source: Unicode compatibility decompositions take joined forms back to plain letters.
    assert fonts.missing(name) == set()
    shown = "".join(part for _font, part in fonts.runs(name))
    assert unicodedata.normalize("NFKC", shown[::-1]) == name


def test_arabic_letters_take_the_form_of_their_place_in_the_word() -> None:
    # Source: Unicode code chart, Arabic Presentation Forms-B: meem initial U+FEE3, hah
    # medial U+FEA4, meem medial U+FEE4, dal final U+FEAA; drawn from the right.
    shown = "".join(part for _font, part in fonts.runs("محمد"))
    assert shown == "\ufeaa\ufee4\ufea4\ufee3"


def test_a_number_inside_arabic_text_keeps_its_order() -> None:
    # UAX 9: European digits stay left to right inside right-to-left text.
    shown = "".join(part for _font, part in fonts.runs("علي 123"))
    assert "123" in shown


@pytest.mark.parametrize("name", NOT_PRINTED.values(), ids=NOT_PRINTED.keys())
def test_a_letter_without_a_shape_is_named_beforehand_and_drawn_as_a_box(name: str) -> None:
    assert fonts.missing(f"Ana {name}") == set(unicodedata.normalize("NFC", name))
    shown = "".join(part for _font, part in fonts.runs(f"Ana {name}"))
    assert shown.startswith("Ana " + fonts.MISSING_BOX)
    assert reading.ink(drawn(name)) is not None


def test_letters_written_as_base_and_mark_print_as_one() -> None:
    assert fonts.runs("Zoe\u0301") == fonts.runs("Zo\u00e9")
    assert fonts.missing("Nguye\u0302\u0303n") == set()


def test_invisible_characters_and_line_ends_vanish() -> None:
    assert fonts.runs("A\u200b\u200eB\u0000\nC") == [("PaperText", "AB C")]
    assert fonts.missing("A\u200d\ufe0f\n") == set()


def test_all_of_latin_greek_cyrillic_kana_and_hangul_is_covered() -> None:
    # Blocks after the Unicode code charts; only letters that Unicode has named are asked for.
    blocks = [
        (0x0020, 0x024F),
        (0x1E00, 0x1E99),
        (0x1EA0, 0x1EF9),
        (0x0386, 0x03CE),
        (0x0400, 0x0482),
        (0x048A, 0x0513),
        (0x05D0, 0x05EA),
        (0x0621, 0x063A),
        (0x0641, 0x064A),
        (0x3041, 0x3094),
        (0x30A1, 0x30F6),
        (0xAC00, 0xD7A3),
        (0x4E00, 0x9FA5),
    ]
    letters = {
        chr(point)
        for first, last in blocks
        for point in range(first, last + 1)
        if unicodedata.category(chr(point)) in ("Lu", "Ll", "Lt", "Lo", "Nd", "Sc")
    }
    known = fonts.register_fonts()
    reach = known["PaperText"] | known["PaperWide"] | known["PaperHan"]
    assert sorted(letter for letter in letters if ord(letter) not in reach) == []


def test_bold_and_plain_reach_the_same_letters() -> None:
    for name in [*LEFT_TO_RIGHT.values(), *RIGHT_TO_LEFT.values()]:
        shown = "".join(part for _font, part in fonts.runs(name, bold=True))
        assert fonts.MISSING_BOX not in shown


def test_shortening_never_parts_a_letter_from_its_mark() -> None:
    name = "x\u0323\u0302" * 30
    short = fonts.clip(name, 20, 10)
    assert short.endswith("x\u0323\u0302" + fonts.ELLIPSIS)
    assert fonts.width(short, 10) <= 20


@pytest.mark.parametrize("text", ["Kleiderschrank " * 9, "W" * 200, "洗濯物" * 40, "a b  c"])
def test_wrapped_lines_keep_every_word_and_the_width(text: str) -> None:
    lines = fonts.wrap(text, 40, 10)
    assert all(fonts.width(line, 10) <= 40 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@pytest.mark.parametrize("room", [20.0, 27.0, 35.0, 48.0])
def test_even_lines_are_as_few_hold_every_word_and_never_part_a_figure_from_its_unit(
    room: float,
) -> None:
    text = "Iron from the wrong side up to 150 °C with a cloth between, 65 % damp"
    plain = fonts.wrap(text, room, 10, True)
    even = fonts.wrap_evenly(text, room, 10, True)
    assert len(even) == len(plain)
    assert " ".join(even) == text
    assert all(fonts.width(line, 10, True) <= room for line in even)
    assert max(fonts.width(line, 10, True) for line in even) <= max(
        fonts.width(line, 10, True) for line in plain
    )
    assert not [line for line in (*plain, *even) if line.startswith(("°", "%"))]


def test_even_lines_leave_no_word_by_itself() -> None:
    text = "Iron up to 150 °C with a cloth between"
    room = fonts.width("Iron up to 150 °C with a cloth", 10, True) + 0.1
    assert fonts.wrap(text, room, 10, True) == ["Iron up to 150 °C with a cloth", "between"]
    assert fonts.wrap_evenly(text, room, 10, True) == ["Iron up to 150 °C", "with a cloth between"]


def test_a_word_wider_than_the_room_is_cut_as_without_evening() -> None:
    text = "Wasch" * 20
    assert fonts.wrap_evenly(text, 20, 10) == fonts.wrap(text, 20, 10)


def test_the_licence_of_each_typeface_lies_beside_it() -> None:
    names = sorted(path.name for path in fonts.FONT_DIR.iterdir())
    assert names == [
        "AtkinsonHyperlegible-Bold.ttf",
        "AtkinsonHyperlegible-OFL.txt",
        "AtkinsonHyperlegible-Regular.ttf",
        "DejaVuSans-Bold.ttf",
        "DejaVuSans-LICENSE.txt",
        "DejaVuSans.ttf",
        "DroidSansFallback-Apache-2.0.txt",
        "DroidSansFallback.ttf",
        "README.md",
    ]


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Ada Mary Brook", "Brook A."),
        ("Bo Finch Jr.", "Finch B."),
        ("Bo Finch, Jr", "Finch B."),
        ("Maximiliane von Hohenstaufen-Wittelsbach II", "Hohenstaufen-Wittelsbach M."),
        ("Iv", "Iv"),
        ("Ada Junior", "Junior A."),
        ("王小明", "王小明"),
        ("عبد الرحمن الخوارزمي", "الخوارزمي ع."),
    ],
)
def test_a_tag_carries_the_family_name_and_a_letter(name: str, short: str) -> None:
    assert short_name(name) == short
