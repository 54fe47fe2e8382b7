"""Decisions, names and moments in the words of the back room."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from care_rules import Settings, decide, parse_facts
from tests.building import jumper, shirt
from tickets import wording
from tickets.choices import Station
from tickets.models import Customer
from tickets.tracking.wording import in_short
from tickets.wording import look_of

NOON = datetime(2026, 1, 13, 12, 0, tzinfo=UTC)
"""A Tuesday in winter time, when London shows UTC."""


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({}, []),
        ({"max_c": 30}, ["at most 30 °C!"]),
        ({"max_c": 0}, ["no heat!"]),
        ({"spin": "none", "action": "very_mild"}, ["action: very mild", "spin: none"]),
        ({"method": "tumble", "tumble": "low"}, ["tumble", "low heat"]),
        ({"method": "tumble", "tumble": "normal"}, ["tumble", "normal heat"]),
        ({"method": "tumble", "tumble": "no_heat"}, ["tumble", "no heat"]),
        ({"method": "hang", "drip": True, "shade": True},
         ["on a hanger", "dripping wet", "in the shade"]),
        ({"method": "flat", "drip": False, "shade": False}, ["flat"]),
        ({"bleach": "oxygen"}, ["oxygen bleach allowed"]),
        ({"bleach": "none"}, ["no bleach"]),
        ({"max_c": 110, "steam": False, "reverse_side": True, "press_cloth": True},
         ["at most 110 °C!", "no steam", "reverse side", "press cloth"]),
        ({"max_c": 200, "steam": True, "reverse_side": False, "press_cloth": False},
         ["at most 200 °C!", "steam"]),
        ({"agents": ["detergent"], "stain": "blood", "minutes": 5}, []),
    ],
)  # fmt: skip
def test_settings_say_the_temperature_first_and_large(settings: Settings, said: list[str]) -> None:
    words = wording.setting_words(settings)
    assert [f"{setting.says}{'!' * setting.figure}" for setting in words] == said


def test_a_temperature_is_told_in_both_scales_where_the_shop_wants_it() -> None:
    """32 + 1.8 x 30 = 86."""
    [heat] = wording.setting_words({"max_c": 30}, fahrenheit=True)
    assert heat.says == "at most 30 °C / 86 °F"


def test_limits_of_a_station_are_those_that_can_go_wrong_there_closed_ones_first() -> None:
    decision = decide(parse_facts(jumper()))

    def paths(station: str) -> list[tuple[str, bool]]:
        lines = wording.limit_lines(decision, station)
        return [(line.path, line.closed) for line in lines]

    every = paths("")
    assert [closed for _path, closed in every] == sorted((c for _p, c in every), reverse=True)
    of_iron = [limit for limit in every if limit[0].startswith("iron.")]
    assert of_iron
    assert paths(Station.PRESS) == paths(Station.BENCH) == of_iron
    wet = [limit for limit in every if limit[0].split(".")[0] in ("wash", "bleach")]
    assert paths(Station.WASH) == paths(Station.SPOTTING) == wet
    drying = [limit for limit in every if limit[0].split(".")[0] in ("tumble", "air_dry")]
    assert paths(Station.DRY) == drying
    away = [limit for limit in every if limit[0].split(".")[0] in ("dry_clean", "wet_clean")]
    assert paths(Station.SEND_OUT) == away
    assert paths(Station.CHECK) == []
    assert len(of_iron) + len(wet) + len(drying) + len(away) == len(every)


def test_each_limit_names_the_rules_that_gave_it_once() -> None:
    decision = decide(parse_facts(jumper()))
    for line in wording.limit_lines(decision):
        assert line.why == wording.reasons(decision.because[line.path])
        assert len(set(line.why)) == len(line.why)
    assert wording.reasons(["no.such", "no.such"]) == ("no.such",)


@pytest.mark.parametrize(
    ("says", "first"),
    [
        ("Wash cool. Dry flat.", "Wash cool."),
        ("Up to 2.5 bar. then dry", "Up to 2.5 bar. then dry"),
        ("  Really? Yes. ", "Really?"),
        ("x" * 150, "x" * 150),
        (f"{'y' * 147}, zz zz", f"{'y' * 147} …"),
        (f"{'y' * 148}, zz", f"{'y' * 148} …"),
    ],
)
def test_a_reason_is_the_first_sentence_and_at_most_150_characters(says: str, first: str) -> None:
    assert wording._short(says) == first


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({}, []),
        ({"no_softener": True}, ["no softener"]),
        ({"fragrance_free": True}, ["no fragrance", "no softener"]),
        ({"fragrance_free": True, "no_softener": True}, ["no fragrance", "no softener"]),
    ],
)
def test_wishes_for_the_bath(wishes: dict[str, bool], words: list[str]) -> None:
    assert wording.wish_words(Customer(**wishes)) == words


def test_cautions_stand_from_the_gravest_down_to_the_least_asked_for() -> None:
    facts = shirt(hazards=["body.blood"], colour="dark")
    decision = decide(parse_facts(facts))
    counted = {level: len(wording.cautions(decision, level)) for level in wording.LEVELS}
    counts = {
        level: sum(caution.level == level for caution in decision.cautions)
        for level in wording.LEVELS
    }
    assert min(counts["caution"], counts["info"], counts["hold"]) > 0
    assert counted == {
        "refuse": counts["refuse"],
        "hold": counts["refuse"] + counts["hold"],
        "caution": len(decision.cautions) - counts["info"],
        "info": len(decision.cautions),
    }
    levels = [wording.LEVELS.index(caution.level) for caution in wording.cautions(decision, "info")]
    assert levels == sorted(levels)
    assert wording.cautions(decision) == wording.cautions(decision, "caution")


def test_what_was_told_at_intake_stands_in_the_order_of_the_form() -> None:
    lines = wording.told_at_intake(
        parse_facts(
            shirt(
                components=[
                    {"part": "shell", "fibres": [{"fibre": "cotton", "percent": 60},
                                                 {"fibre": "polyester", "percent": 40}]},
                    {"part": "lining", "fibres": [{"fibre": "viscose"}]},
                    {"part": "filling", "fibres": []},
                ],
                label={"state": "read", "symbols": [], "terms": ["dry flat", "hand wash"]},
                trims=["metal_zip"],
                damage=["tear", "open_seam"],
                hazards=["body.blood"],
                work=["button_replace"],
                services=["clean", "mend"],
            )
        )
    )  # fmt: skip
    assert lines == [
        (
            "Cloth",
            "Outside: 60 % cotton, 40 % polyester; Lining: viscose; Filling: fibres not known",
        ),
        ("Make", "woven"),
        ("Colour", "white"),
        ("Label", "dry flat, hand wash"),
        ("Trims", "metal zip"),
        ("Stains", "red wine"),
        ("Damage", "tear, open seam"),
        ("Hazards", wording.name_in("hazards", "body.blood")),
        ("Work", "Replace a missing or loose button"),
    ]


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("unreadable", "unreadable"),
        ("missing", "none on the piece"),
        ("not_needed", "none, and none needed"),
    ],
)
def test_a_label_that_says_nothing_is_told_by_its_state(state: str, words: str) -> None:
    lines = dict(wording.told_at_intake(parse_facts(jumper(label={"state": state}))))
    assert lines["Label"] == words


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Ada Mary Brook", "Brook A."),
        ("Bo Finch Jr.", "Finch B."),
        ("Finch III", "III F."),
        ("brook", "brook"),
        ("  Ada  ", "Ada"),
        ("", ""),
        ("ada brook,", "brook A."),
    ],
)
def test_a_name_in_the_open(name: str, short: str) -> None:
    assert wording.short_name(name) == short


def test_moments_are_told_with_the_day_only_where_it_is_another() -> None:
    tomorrow = NOON + timedelta(days=1)
    assert wording.promise_words(NOON + timedelta(hours=5), NOON) == "today 17:00"
    assert wording.promise_words(tomorrow, NOON) == "Wed 14 Jan 12:00"
    assert wording.promise_words(NOON - timedelta(days=1), NOON) == "Mon 12 Jan 12:00"
    assert wording.promise_day(tomorrow) == "Wed 14 Jan"
    assert wording.shown_moment(NOON) == "Tue 13 Jan, 12:00"
    summer = NOON + timedelta(days=180)
    assert wording.shown_moment(summer) == "Sun 12 Jul, 13:00"


def test_what_the_tables_do_not_know_is_shown_by_its_key() -> None:
    assert wording.kind_name("shirt_cotton") == "cotton shirt"
    assert wording.kind_name("moon_suit") == "moon suit"
    assert wording.step_name("press") == "Press"
    assert wording.step_name("steam") == "steam"
    assert wording.service_name("alter") == "Alter"
    assert wording.service_name("dye") == "dye"


@pytest.mark.parametrize(
    ("reason", "short"),
    [
        ("Zip on order: the right length comes on Friday.", "Zip on order"),
        ("Open the lining? Ask before the seam is cut.", "Open the lining?"),
        ("Ask whether the lining may be opened", "Ask whether the lining may …"),
        ("brass zip?", "brass zip?"),
        ("Ready at 15:30", "Ready at 15:30"),
        ("No.", "No"),
    ],
)
def test_a_reason_is_short_in_a_list(reason: str, short: str) -> None:
    assert in_short(reason) == short


@pytest.mark.parametrize(
    ("description", "kind", "look"),
    [
        ("bath towel", "bath towel", ""),
        ("Bath towel", "bath towel", ""),
        ("grey cardigan, loose button", "cardigan", "grey, loose button"),
        ("printed T-shirt", "T-shirt", "printed"),
        ("grey trousers to hem", "wool trousers", "grey trousers to hem"),
        ("", "cardigan", ""),
    ],
)
def test_a_description_says_no_word_of_its_kind_again(
    description: str, kind: str, look: str
) -> None:
    assert look_of(description, kind) == look
