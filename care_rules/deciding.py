"""decide(): facts in, decision out. Touches no database, clock or setting."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from care_rules.decision import Decision, Step
from care_rules.gather import Gather
from care_rules.house import HouseRule, mark_of, speak
from care_rules.labels import Reading, read_label
from care_rules.limits import (
    HOTTEST_IRON,
    IRON_C,
    STEAM,
    TUMBLE,
    TUMBLES,
    Tally,
    because,
    limits_at,
    load_at,
)
from care_rules.materials import Materials, read_materials
from care_rules.process import IN_HOUSE, NOTHING, choose, named_ways, open_ways
from care_rules.route import Work, build
from care_rules.speech import gettext as _
from care_rules.steps import Route
from care_rules.tables import Book, book
from care_rules.vocabulary import Facts


def gathered(
    facts: Facts, house_rules: Sequence[HouseRule] = ()
) -> tuple[Reading, Materials, Gather]:
    """Everything that speaks on the piece, before it is combined into limits."""
    tables = book()
    gather = Gather(tables)
    reading = read_label(facts.label, tables, gather)
    materials = read_materials(facts, reading, gather)
    if house_rules:
        speak(house_rules, facts, materials, gather)
    return reading, materials, gather


def decide(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> Decision:
    """What may be done with the piece, what never, in which order, and why.

    The strictest of all rules wins on every limit. ``facts`` comes from ``parse_facts``; a key
    that no table holds raises KeyError. ``house_rules`` only ever make a decision stricter; where
    one of them spoke, ``tables`` says so.

    Most garments of a day are like one that came before, so decisions are kept by their facts.
    """
    decision = _kept(facts, tuple(house_rules), book())
    return decision if decision.id == facts.id else decision.named(facts.id)


@lru_cache(maxsize=2048)
def _kept(facts: Facts, house_rules: tuple[HouseRule, ...], _tables: Book) -> Decision:
    """Facts are equal whatever the piece is called; the tables are those of one language."""
    return work_out(facts, house_rules)


def forget() -> None:
    """Work every decision out anew from now on: for measuring."""
    _kept.cache_clear()


def work_out(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> Decision:
    """``decide`` from the tables alone, without a look at what was decided before."""
    reading, materials, gather = gathered(facts, house_rules)
    tally = gather.tally(facts.overrides)
    work = _work(facts, materials, gather, tally)
    cleans = "clean" in facts.services
    process = choose(facts, reading, materials, gather, tally.severity) if cleans else NOTHING
    _press_warning(facts, gather, tally)
    _special_warning(gather)
    _hazards_on_the_way(facts, reading, gather, tally)
    # What is sewn is pressed too, and some work needs an iron of its own. Work that a limit bars
    # counts as well: else what bars it would take a caution back.
    heated = "press" in facts.services or bool(facts.work)
    if materials.watch_heat and not cleans and heated:
        gather.warn("route.press_on_stain", because=tuple(sorted(materials.watch_heat)))
    if process is None or not _anything_left(facts, gather, tally, work, materials):
        gather.warn("route.no_process")
        process = NOTHING
    outcome = _outcome(gather, facts)
    steps: tuple[Step, ...] = ()
    if outcome != "decline":
        steps = build(Route(facts, reading, materials, gather, tally, process), work)
    else:
        process = NOTHING
    return Decision(
        id=facts.id,
        tables=gather.tables.version + mark_of(gather.house.values()),
        outcome=outcome,
        process=process.name,
        where=process.where if process is not NOTHING else IN_HOUSE,
        limits=limits_at(tuple(tally.severity)),
        load=load_at(tally.severity, materials.colour_group),
        steps=steps,
        cautions=gather.sorted_cautions(),
        because=because(tally),
    )


def _work(facts: Facts, materials: Materials, gather: Gather, tally: Tally) -> Work:
    """The mending and altering asked for, without what a hazard or a limit forbids."""
    work = Work([], [])
    table = gather.tables["work"]
    barred: set[str] = set()
    for key in sorted(facts.work):
        row = table[key]
        service = "mend" if row.flag("repair") else "alter"
        too_hot = row.flag("heat") and tally.severity[IRON_C] == HOTTEST_IRON
        if too_hot:
            says = _("“{work}” needs an iron, and a limit forbids one.", work=row.cells["name"])
            gather.warn("route.work_needs_heat", says, (row.key,))
        if row.flag("cuts") and "clean" not in facts.services and _may_shrink(materials):
            gather.warn("route.wash_before_cut", because=("route.wash_before_cut", row.key))
        if service in gather.bars:
            barred.add(gather.bars[service])
        elif not too_hot:
            early = row.cells["order"] == "before" and not (
                "clean" in facts.services and set(row.listed("after_when")) & set(facts.hazards)
            )
            (work.before if early else work.after).append(row)
    for service in ("mend", "alter"):
        if service in facts.services and service in gather.bars:
            barred.add(gather.bars[service])
    if barred:
        gather.warn("route.work_barred", because=tuple(sorted(barred)))
    if materials.damage and "mend" not in facts.services:
        gather.warn("route.not_mended", because=tuple(row.key for row in materials.damage))
    return work


def _may_shrink(materials: Materials) -> bool:
    return any(row.flag("shrinks") for row in materials.fibres)


def _can_press(tally: Tally) -> bool:
    return tally.severity[IRON_C] < HOTTEST_IRON or not tally.severity[STEAM]


def _press_warning(facts: Facts, gather: Gather, tally: Tally) -> None:
    if "press" in facts.services and not _can_press(tally):
        keys = set(tally.why[IRON_C] or ()) | set(tally.why[STEAM] or ())
        gather.warn("route.no_press", because=tuple(sorted(keys)))


def _special_warning(gather: Gather) -> None:
    """A part that only a specialist or a surface clean serves is named, whatever is chosen."""
    for only, key in (("specialist", "route.specialist"), ("surface", "route.surface_only")):
        rules = tuple(sorted({row.key for _, _, row in gather.rules if row.only == only}))
        if rules:
            gather.warn(key, because=rules)
    if "no_pretreat" in gather.notes:
        gather.warn("route.no_pretreat")


def _hazards_on_the_way(facts: Facts, reading: Reading, gather: Gather, tally: Tally) -> None:
    """Hazards that follow from another one and from what the limits leave open.

    Both look at limits, never at the process that was chosen: so what is added to a piece can
    raise them and never take them back.
    """
    heat = TUMBLES[tally.severity[TUMBLE]]
    if "bedbug.seen" in gather.cautions and heat in ("none", "no_heat"):
        gather.warn("bedbug.no_heat", because=("bedbug.no_heat", "bedbug.seen"))
    if "body.blood" in gather.cautions and "clean" in facts.services:
        ways = open_ways(tally.severity, facts.shop)
        if not any(way.where == IN_HOUSE for way in named_ways(ways, reading)):
            gather.warn("body.blood_label", because=("body.blood", "body.blood_label"))


def _anything_left(
    facts: Facts, gather: Gather, tally: Tally, work: Work, materials: Materials
) -> bool:
    """Whether one of the services asked for can still be given (cleaning is judged apart)."""
    if "clean" in facts.services:
        return True
    if "press" in facts.services and _can_press(tally):
        return True
    if any(
        service in facts.services and service not in gather.bars for service in ("mend", "alter")
    ):
        return True
    return bool(work.before or work.after)


def _outcome(gather: Gather, facts: Facts) -> str:
    outcome = "accept"
    for caution in gather.cautions.values():
        if caution.level == "refuse" and caution.scope == "piece":
            return "decline"
        if caution.level == "hold" and caution.key not in facts.accepted:
            outcome = "ask"
    return outcome
