"""Ticket and piece numbers against ISO 7064 as python-stdnum reads it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_11_10

from tickets import numbers
from tickets.numbers import NumberError, PieceCode, TicketCode, parse_code, piece_code, spoken

TICKETS = st.integers(numbers.FIRST_TICKET, numbers.LAST_TICKET)
POSITIONS = st.integers(1, 99)


def test_the_check_digit_is_the_one_an_independent_library_computes() -> None:
    # Source of the expected values: python-stdnum, stdnum.iso7064.mod_11_10.
    bodies = [
        f"{ticket:07d}{position:02d}"
        for ticket in range(numbers.FIRST_TICKET, numbers.LAST_TICKET, 97_001)
        for position in range(1, 100)
    ]
    assert len(bodies) > 9000
    assert [numbers.check_digit(body) for body in bodies] == [
        mod_11_10.calc_check_digit(body) for body in bodies
    ]


@given(TICKETS, POSITIONS)
def test_a_piece_code_is_valid_to_the_library_and_reads_back_as_itself(
    ticket: int, position: int
) -> None:
    code = piece_code(ticket, position)
    assert mod_11_10.is_valid(code)
    assert code[:9] == f"{ticket:07d}{position:02d}"
    assert parse_code(code) == PieceCode(ticket, position)
    assert parse_code(spoken(code)) == PieceCode(ticket, position)
    assert parse_code(code).digits == code


@given(TICKETS, POSITIONS, st.integers(0, 9), st.integers(1, 9))
def test_one_wrong_digit_is_always_noticed(
    ticket: int, position: int, place: int, shift: int
) -> None:
    code = piece_code(ticket, position)
    wrong = str((int(code[place]) + shift) % 10)
    with pytest.raises(NumberError):
        parse_code(code[:place] + wrong + code[place + 1 :])


def test_no_number_may_start_with_99_and_the_first_is_1000001() -> None:
    assert numbers.next_ticket(None) == 1000001
    assert numbers.next_ticket(1000001) == 1000002
    assert numbers.next_ticket(9899998) == 9899999
    with pytest.raises(NumberError, match="9900000"):
        numbers.next_ticket(9899999)
    with pytest.raises(NumberError, match="9912345"):
        piece_code(9912345, 1)
    body = "991234501"
    with pytest.raises(NumberError, match="9912345"):
        parse_code(body + numbers.check_digit(body))


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("1004821", TicketCode(1004821)),
        (" 1004821\n", TicketCode(1004821)),
        ("1004821-07", PieceCode(1004821, 7)),
        ("1004821-7", PieceCode(1004821, 7)),
        ("1004821 – 07", PieceCode(1004821, 7)),
        ("1004821/07", PieceCode(1004821, 7)),
        ("１００４８２１", TicketCode(1004821)),
        ("1004821 02 2", PieceCode(1004821, 2)),
    ],
)
def test_a_number_is_read_however_people_write_it(typed: str, code: object) -> None:
    assert parse_code(typed) == code


@pytest.mark.parametrize(
    ("typed", "reason", "named"),
    [
        ("", "empty", "No number was given"),
        ("   ", "empty", "No number was given"),
        ("10O4821", "letters", "character 3, “O”"),
        ("RACK A12", "letters", "character 1, “R”"),
        ("١٠٠٤٨٢١", "letters", "character 1"),
        ("100482", "length", "100482 has 6 digits"),
        ("10048210", "length", "10048210 has 8 digits"),
        ("1004821-", "length", "has 7 digits"),
        ("10048210220", "length", "has 11 digits"),
        ("1004821-007", "length", "has 10 digits"),
        ("1004821023", "check", "the last digit, 3"),
        ("1000000", "ticket", "1000000"),
        ("0004821-01", "ticket", "4821"),
        ("1004821-00", "position", "Piece number 0 of ticket 1004821"),
    ],
)
def test_a_wrong_number_is_refused_with_value_place_and_cure(
    typed: str, reason: str, named: str
) -> None:
    with pytest.raises(NumberError) as caught:
        parse_code(typed)
    assert caught.value.reason == reason
    assert named in str(caught.value)
    assert isinstance(caught.value, ValueError)


def test_piece_one_hundred_needs_another_ticket() -> None:
    with pytest.raises(NumberError, match="Open a second ticket"):
        piece_code(1004821, 100)


def test_numbers_are_spoken_with_a_hyphen_before_the_piece() -> None:
    assert spoken(piece_code(1004821, 7)) == "1004821-07"
    assert spoken("1004821") == "1004821"
    assert spoken(PieceCode(1004821, 12)) == "1004821-12"
