"""Every label that one or no symbol of each group can make, on every fibre, beside the oracle.

There are 17 x 4 x 6 x 9 x 6 x 9 x 5 = 991,440 such labels (sixteen washing symbols or none, three
bleaching, five tumble drying, eight air drying, five ironing, eight dry cleaning, four wet
cleaning) and 113 fibres: 112,032,720 pairs. The slow set walks all of them; the quick set takes
every pair of symbols of two groups and every set of treatments that a label can speak of.

The comparison is exact in both directions: no limit is past what label and fibre allow, and none
is stricter than label, fibre and the gentle figures for a silent label explain.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

import pytest

from care_rules import Component, Facts, FibreShare, Label, decide_json
from care_rules.deciding import gathered
from care_rules.gather import Gather
from care_rules.labels import Reading, read_label
from care_rules.limits import (
    AXES,
    COUNT,
    GROUP_BIT,
    Tally,
    limits_at,
    strictest,
)
from care_rules.tables import book
from tests.care_rules import oracle
from tests.care_rules.builders import piece
from tests.care_rules.severity import flat, severity_of, strictness
from tests.care_rules.strategies import FIBRES, SYMBOLS
from tests.care_rules.test_must_hold import within_limits

GROUPS = list(SYMBOLS)
ODD = [row for row in oracle.rows("label_rules").values() if row["first"]]


def one_or_none(group: str) -> list[tuple[str, ...]]:
    return [(), *((symbol,) for symbol in SYMBOLS[group])]


def labels(**fixed: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Every label, or all that have the given choice of a group."""
    choices = [[fixed[group]] if group in fixed else one_or_none(group) for group in GROUPS]
    for chosen in itertools.product(*choices):
        yield tuple(itertools.chain(*chosen))


def scale(limits: dict[str, Any]) -> list[int]:
    """The oracle's limits as steps above wide open, in the order of the engine's axes."""
    return [int(strictness(p, limits[p]) - strictness(p, oracle.OPEN[p])) for p in AXES]


def naive_facts(fibre: str, symbols: Iterable[str] = ()) -> dict[str, Any]:
    label = {"state": "read", "edition": "2012", "market": "iso", "symbols": list(symbols)}
    shell = {"part": "shell", "fibres": [{"fibre": fibre}]}
    return {"components": [shell], "label": label, "colour": "white"}


@cache
def naive_fibre(fibre: str, spoken: frozenset[str]) -> list[int]:
    ceilings = oracle.material_ceilings(naive_facts(fibre), set(spoken))
    return scale(oracle.strictest(ceilings))


@cache
def naive_symbol(symbol: str) -> list[int]:
    return scale(oracle.OPEN | oracle.symbol_limits(symbol, "2012", "iso"))


@cache
def naive_silence(spoken: frozenset[str]) -> list[int]:
    silent = [limits for group, limits in oracle.SILENT.items() if group not in spoken]
    return scale(
        oracle.OPEN | {path: value for ceilings in silent for path, value in ceilings.items()}
    )


def naive_label(symbols: tuple[str, ...], spoken: frozenset[str]) -> list[int]:
    grades = naive_silence(spoken)
    for symbol in symbols:
        grades = list(map(max, grades, naive_symbol(symbol)))
    return grades


@cache
def naive_spoken(groups: tuple[str, ...]) -> frozenset[str]:
    return frozenset(groups) - {""}


def read_only(symbols: tuple[str, ...]) -> tuple[Reading, Gather]:
    """The label alone through the engine."""
    return read_label(Label("read", "2012", "iso", symbols), book())


def in_full(symbols: tuple[str, ...], fibre: str) -> Gather:
    """Label and fibre through everything that the engine does before it weighs limits."""
    label = Label("read", "2012", "iso", symbols)
    parts = (Component("shell", (FibreShare(fibre),)),)
    return gathered(Facts(label=label, components=parts, colour="white"))[2]


@cache
def rules_of(fibre: str) -> list[Any]:
    """What the fibre brings with it, taken beside a label that says nothing."""
    return in_full((), fibre).rules[len(read_only(())[1].rules) :]


def is_odd(symbols: tuple[str, ...]) -> bool:
    """Whether the raw table calls a pair of these symbols an odd one."""
    shown = set(symbols)
    columns = ("first", "second", "without")
    cells = [[set(filter(None, row[c].split("; "))) for c in columns] for row in ODD]
    return any(shown & a and shown & b and not shown & without for a, b, without in cells)


def check_label(symbols: tuple[str, ...], fibre: str) -> tuple[list[int], frozenset[str]]:
    """One label on one fibre: rules, limits and reasons; returns the label's limits on its own."""
    reading, alone = read_only(symbols)
    spoken = naive_spoken(tuple(map(oracle.group_of_symbol, symbols)))
    assert reading.stated == sum(GROUP_BIT[group] for group in spoken), symbols
    label = naive_label(symbols, spoken)
    assert alone.tally().severity == label, symbols
    assert alone.cautions.keys() <= {
        "label.odd_pair", "label.not_stated", "label.nonstandard_symbol",
    }, symbols  # fmt: skip

    both = in_full(symbols, fibre)
    assert both.rules == alone.rules + rules_of(fibre), (symbols, fibre)
    tally = both.tally()
    assert tally.severity == list(map(max, label, naive_fibre(fibre, spoken))), (symbols, fibre)
    for path, severity, keys in zip(AXES, tally.severity, tally.why, strict=True):
        assert bool(keys) is (severity > 0), (symbols, fibre, path)
    return label, spoken


@pytest.mark.slow
@pytest.mark.parametrize("wash", one_or_none("wash"), ids=lambda chosen: "".join(chosen) or "none")
def test_every_label_on_every_fibre_comes_to_what_the_oracle_says(wash: tuple[str, ...]) -> None:
    """All 58,320 labels with this washing symbol, each on all 113 fibres: 6,590,160 pairs.

    Each label runs through the whole gathering of the engine with one fibre, in turn: 991,440 full
    runs in all. They prove that what speaks on a piece is what the label says, followed by what
    the fibre brings, the same beside every label. Then each label's limits meet each fibre's
    rules in the engine's own ``Tally.add``, whose outcome depends on three things alone: the
    limits so far, the rules added, and which treatments the label speaks of. So labels that agree
    in the first and last are walked once, and fibres whose rows set the same limits are walked
    once; every pair that is left out has the very inputs of one that is not.
    """
    states = set()
    count = 0
    for number, symbols in enumerate(labels(wash=wash)):
        label, spoken = check_label(symbols, FIBRES[number % len(FIBRES)])
        states.add((tuple(label), spoken))
        count += 1
    assert count == 58_320
    fibres = {tuple(pairs for _, pairs, _ in rules_of(fibre)): fibre for fibre in FIBRES}
    for limits, spoken in states:
        stated = sum(GROUP_BIT[group] for group in spoken)
        for rules, fibre in fibres.items():
            tally = Tally()
            tally.severity = list(limits)
            tally.why = [("label",) if severity else () for severity in limits]
            for pairs in rules:
                tally.add("fibre", pairs, stated)
            expected = list(map(max, limits, naive_fibre(fibre, spoken)))
            assert tally.severity == expected, (limits, spoken, fibre)


@pytest.mark.parametrize("fibres_each", [2, pytest.param(10, marks=pytest.mark.slow)])
def test_every_pair_of_symbols_of_two_groups_comes_to_what_the_oracle_says(
    fibres_each: int,
) -> None:
    """Each pair, with other groups drawn at random, on some of the fibres in turn."""
    draw = random.Random(1)
    fibres = itertools.cycle(FIBRES)
    count = 0
    for first, second in itertools.combinations(GROUPS, 2):
        for pair in itertools.product(one_or_none(first), one_or_none(second)):
            fixed = dict(zip((first, second), pair, strict=True))
            for fibre in itertools.islice(fibres, fibres_each):
                chosen = [fixed.get(g) or draw.choice(one_or_none(g)) for g in GROUPS]
                check_label(tuple(itertools.chain(*chosen)), fibre)
                count += 1
    assert count == 1_286 * fibres_each


def test_a_fibre_brings_the_same_rules_whatever_the_label_speaks_of() -> None:
    """All 128 sets of treatments that a label can speak of, each on all fibres."""
    for spoken in itertools.product((False, True), repeat=len(GROUPS)):
        symbols = tuple(SYMBOLS[g][0] for g, says in zip(GROUPS, spoken, strict=True) if says)
        for fibre in FIBRES:
            check_label(symbols, fibre)


def test_only_the_pairs_of_the_table_are_called_odd() -> None:
    """With the words on gaps, the one thing that a label says across its groups."""
    draw = random.Random(2)
    counts = {True: 0, False: 0}
    for _ in range(3_000):
        symbols = tuple(itertools.chain(*(draw.choice(one_or_none(g)) for g in GROUPS)))
        odd = "label.odd_pair" in read_only(symbols)[1].cautions
        assert odd is is_odd(symbols), symbols
        counts[odd] += 1
    assert min(counts.values()) > 100


@pytest.mark.parametrize("path", AXES)
def test_each_step_of_a_limit_reads_as_the_oracle_would_write_it(path: str) -> None:
    axis = AXES.index(path)
    for severity in range(strictest(path) + 1):
        steps = [severity if number == axis else 0 for number in range(COUNT)]
        load = {"alone": False, "mesh_bag": False, "inside_out": False, "softener": True}
        limits = flat({"limits": limits_at(tuple(steps)).as_json(), "load": load})
        if not path.startswith("load."):
            assert scale(limits) == steps


def check_readings(fibre: str) -> None:
    """The drawings that editions and markets read differently: two dryer dots and iron dots."""
    choices = itertools.product(
        one_or_none("tumble_dry"), one_or_none("iron"),
        ["2012", "2023", "unknown"], ["iso", "us", "ca", "jp", "unknown"],
    )  # fmt: skip
    for tumble, iron, edition, market in choices:
        label = {"edition": edition, "market": market}
        facts = piece(fibre, " ".join(["wash_40", *tumble, *iron]), label=label)
        decision = decide_json(facts)
        assert oracle.past_a_limit(facts, decision) == [], facts
        assert oracle.needlessly_strict(facts, decision) == [], facts


@pytest.mark.parametrize("fibre", ["cotton", "aramid"])
def test_every_edition_and_market_comes_to_what_the_oracle_says(fibre: str) -> None:
    check_readings(fibre)


@pytest.mark.slow
@pytest.mark.parametrize("fibre", FIBRES)
def test_every_edition_and_market_does_so_on_every_fibre(fibre: str) -> None:
    """540 labels on each of 113 fibres: 61,020 whole decisions."""
    check_readings(fibre)


FIRST, SECOND = GROUPS[:3], GROUPS[3:]


def check_decisions(fibre: str, groups: list[str], others: list[str], stride: int) -> int:
    """Whole decisions, steps included, over all choices in ``groups`` and random ``others``."""
    draw = random.Random(f"{fibre}{groups}")
    count = 0
    start = draw.randrange(stride)
    everything = itertools.product(*map(one_or_none, groups))
    for combination in itertools.islice(everything, start, None, stride):
        symbols = [symbol for chosen in combination for symbol in chosen]
        symbols += [s for group in others for s in draw.choice(one_or_none(group))]
        market = draw.choice(["iso", "us", "unknown"])
        edition = draw.choice(["2012", "2023", "unknown"])
        facts = piece(fibre, " ".join(symbols), label={"market": market, "edition": edition})
        decision = decide_json(facts)
        assert oracle.past_a_limit(facts, decision) == [], symbols
        assert oracle.needlessly_strict(facts, decision) == [], symbols
        within_limits(decision)
        count += 1
    return count


@pytest.mark.parametrize("fibre", FIBRES)
def test_no_step_goes_past_symbols_or_fibre(fibre: str) -> None:
    counts = [
        check_decisions(fibre, FIRST, SECOND, 37),
        check_decisions(fibre, SECOND, FIRST, 211),
    ]
    assert min(counts) > 5


@pytest.mark.slow
@pytest.mark.parametrize("fibre", FIBRES)
def test_no_step_goes_past_any_half_of_a_label_on_any_fibre(fibre: str) -> None:
    """All 408 choices of wash, bleach and tumble, then all 2,430 of the other four groups.

    The other half is drawn at random; 320,694 whole decisions with their steps in all.
    """
    assert check_decisions(fibre, FIRST, SECOND, 1) == 408
    assert check_decisions(fibre, SECOND, FIRST, 1) == 2_430


@pytest.mark.parametrize("path", [path for path in AXES if not path.startswith("load.")])
def test_the_oracle_notices_every_limit_that_is_one_step_off(path: str) -> None:
    """The comparison can fail: each limit, a step looser or stricter than it should be."""
    facts = piece("silk", "wash_50_mild bleach_oxygen_only tumble_low iron_150 dry_clean_f_mild",
                trims=["flammable_contamination", "knit"], stains=["red wine"])  # fmt: skip
    decision = decide_json(facts)
    severity = severity_of(decision["limits"], decision["load"])
    assert oracle.past_a_limit(facts, decision) == oracle.needlessly_strict(facts, decision) == []
    axis = AXES.index(path)
    for step, check in ((-1, oracle.past_a_limit), (1, oracle.needlessly_strict)):
        moved = [s + step if number == axis else s for number, s in enumerate(severity)]
        if 0 <= moved[axis] <= strictest(path):
            wrong = decision | {"limits": limits_at(tuple(moved)).as_json()}
            assert any(path in line for line in check(facts, wrong)), step


def test_the_oracle_notices_a_rule_that_is_named_for_a_limit_it_does_not_set() -> None:
    facts = piece("cotton", "wash_60 bleach_any", lining="silk")
    decision = decide_json(facts)
    assert oracle.wrongly_named(facts, decision) == []
    named = decision["because"] | {"wash.max_c": ["fibre.cotton", "fibre.silk"]}
    assert oracle.wrongly_named(facts, decision | {"because": named}) == [
        "wash.max_c: fibre.cotton"
    ]
