"""decide(): facts in, decision out. Touches no database, clock or setting."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from care_rules.behaviour import bath_of, shrinking, warm_words
from care_rules.decision import Caution, Decision, LoadLimit, Need, Step, TreatmentLimits
from care_rules.gather import Gather
from care_rules.house import HouseRule, mark_of, speak
from care_rules.labels import Reading, forget_labels, read_label, warn_of_silence
from care_rules.lasting import comes_alone, lasting_gather
from care_rules.limits import (
    HOTTEST_IRON,
    HOTTEST_WATER,
    IRON_C,
    STEAM,
    TUMBLE,
    TUMBLES,
    WASH_C,
    WET,
    Tally,
    because,
    limits_at,
    load_at,
)
from care_rules.materials import Materials, read_materials
from care_rules.needs import needs_of
from care_rules.process import IN_HOUSE, NOTHING, Process, choose, named_ways, open_ways
from care_rules.route import Work, build
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.steps import Route
from care_rules.tables import Book, book
from care_rules.vocabulary import Facts
from care_rules.wording import HomeMaterial, home_advice


@dataclass(frozen=True, slots=True, eq=False)
class Grounds:
    """What was told of a piece and what spoke on it: the steps are made from these."""

    facts: Facts
    reading: Reading
    materials: Materials
    gather: Gather
    tally: Tally
    work: Work


@dataclass(frozen=True, slots=True, eq=False)
class Ruling:
    """What a piece comes to, in limits and keys, without its steps and sentences.

    ``caution_levels`` has the key of each caution and how grave it is.
    """

    tables: str
    outcome: str
    process: Process
    needs: tuple[Need, ...]
    limits: TreatmentLimits
    load: LoadLimit
    tally: Tally
    caution_levels: Mapping[str, str]

    @property
    def because(self) -> dict[str, tuple[str, ...]]:
        """Limit path to the keys of the rules behind it, for each limit that is not wide open."""
        return because(self.tally)


def gathered(
    facts: Facts, house_rules: Sequence[HouseRule] = ()
) -> tuple[Reading, Materials, Gather]:
    """Everything that speaks on the piece, before it is combined into limits."""
    reading, gather = read_label(facts.label, book())
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
    decision = _decided(facts, tuple(house_rules), book())
    return decision if decision.id == facts.id else decision.named(facts.id)


def rule_on(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> Ruling:
    """``decide`` without its steps and sentences, where limits, outcome and rule keys will do."""
    return _judged(facts, tuple(house_rules), book())


# Facts are equal whatever the piece is called; the tables are those of one language.


@lru_cache(maxsize=2048)
def _decided(facts: Facts, house_rules: tuple[HouseRule, ...], _tables: Book) -> Decision:
    return work_out(facts, house_rules)


@lru_cache(maxsize=2048)
def _judged(facts: Facts, house_rules: tuple[HouseRule, ...], _tables: Book) -> Ruling:
    return _judge(facts, house_rules)[0]


def forget() -> None:
    """Work every decision out anew from now on: for measuring."""
    _decided.cache_clear()
    _judged.cache_clear()
    forget_labels()


def work_out(facts: Facts, house_rules: Sequence[HouseRule] = ()) -> Decision:
    """``decide`` from the tables alone, without a look at what was decided before."""
    return _said(*_judge(facts, house_rules))


def _judge(facts: Facts, house_rules: Sequence[HouseRule]) -> tuple[Ruling, Grounds]:
    reading, materials, gather = gathered(facts, house_rules)
    tally = gather.tally(facts.overrides)
    work = _work(facts, materials, gather, tally)
    cleans = "clean" in facts.services
    process = choose(facts, reading, gather, tally.severity) if cleans else NOTHING
    warn_of_silence(facts, reading, tally.severity, gather)
    _press_warning(facts, gather, tally)
    _special_warning(gather)
    _solvent_warning(facts, materials, gather, tally)
    _hazards_on_the_way(facts, reading, gather, tally)
    # What is sewn is pressed too, and some work needs an iron of its own. Work that a limit bars
    # counts as well: else what bars it would take a caution back.
    heated = "press" in facts.services or bool(facts.work)
    if materials.watch_heat and not cleans and heated:
        gather.warn("route.press_on_stain", because=tuple(sorted(materials.watch_heat)))
    if process is None or not _anything_left(facts, gather, tally, work, materials):
        gather.warn("route.no_process")
        process = NOTHING
    needs = needs_of(gather, tally, process) if cleans else ()
    outcome = _outcome(gather, facts)
    if outcome == "decline":
        process, needs = NOTHING, ()
    ruling = Ruling(
        tables=gather.tables.version + mark_of(gather.house.values()),
        outcome=outcome,
        process=process,
        needs=needs,
        limits=limits_at(tuple(tally.severity)),
        load=load_at(tally.severity, materials.colour_group),
        tally=tally,
        caution_levels={key: caution.level for key, caution in gather.cautions.items()},
    )
    return ruling, Grounds(facts, reading, materials, gather, tally, work)


def _said(ruling: Ruling, grounds: Grounds) -> Decision:
    """The ruling with its steps and sentences."""
    process = ruling.process
    steps: tuple[Step, ...] = ()
    if ruling.outcome != "decline":
        route = Route(
            grounds.facts,
            grounds.reading,
            grounds.materials,
            grounds.gather,
            grounds.tally,
            process,
            ruling.needs,
        )
        steps = build(route, grounds.work)
    return Decision(
        id=grounds.facts.id,
        tables=ruling.tables,
        outcome=ruling.outcome,
        process=process.name,
        where=process.where,
        limits=ruling.limits,
        load=ruling.load,
        steps=steps,
        cautions=_cautions(ruling, grounds.gather, steps),
        because=ruling.because,
        specialist=process.specialist,
        needs=ruling.needs,
        home=_home(ruling, grounds),
    )


def _cautions(ruling: Ruling, gather: Gather, steps: tuple[Step, ...]) -> tuple[Caution, ...]:
    """The cautions in words; beside a hazard that refuses the piece no other gives advice.

    What a spotting step forbids is not forbidden a second time by the caution of its stain.
    """
    cautions = gather.sorted_cautions()
    if not any(_refuses(caution, gather) for caution in cautions):
        return tuple(_once(cautions, steps))
    return tuple(
        caution if _refuses(caution, gather) else replace(caution, do="", defer_to="")
        for caution in cautions
    )


def _once(cautions: tuple[Caution, ...], steps: tuple[Step, ...]) -> Iterator[Caution]:
    """The cautions without advice that a step or a graver caution has given already."""
    treated = {key for step in steps if step.step == "pre_spot" for key in step.because}
    treated = {key for key in treated if key.startswith("stain.")}
    given = {step.says for step in steps}
    for caution in cautions:
        again = caution.key in treated or any(caution.do in says for says in given)
        given.add(caution.do)
        yield replace(caution, do="") if again and caution.do else caution


def _refuses(caution: Caution, gather: Gather) -> bool:
    hazard = caution.key in gather.tables["hazards"]
    return hazard and caution.level == "refuse" and caution.scope == "piece"


def _home(ruling: Ruling, grounds: Grounds) -> tuple[str, ...]:
    """What the customer is told for home: of the piece itself, never of what happened to it."""
    if ruling.outcome == "decline":
        return ()
    facts, reading, gather = grounds.facts, grounds.reading, grounds.gather
    material = _home_material(grounds)
    if ruling.process is not NOTHING and comes_alone(facts, gather):
        return home_advice(ruling.process.name, ruling.limits, ruling.load, material)
    kept, refused = lasting_gather(facts, grounds.materials, gather)
    tally = kept.tally(facts.overrides)
    chosen = None if refused else choose(facts, reading, kept, tally.severity)
    return home_advice(
        (chosen or NOTHING).name,
        limits_at(tuple(tally.severity)),
        load_at(tally.severity, grounds.materials.colour_group),
        material,
    )


def _home_material(grounds: Grounds) -> HomeMaterial:
    """Airing does where the greater part of the shell airs well."""
    fibres = grounds.gather.tables["fibres"]
    shell = [part for part in grounds.facts.components if part.part == "shell"]
    shares = [share for part in shell for share in part.fibres if share.fibre in fibres]
    airing = [share for share in shares if fibres[share.fibre].flag("air")]
    if all(share.percent is not None for share in shares):
        airs = sum(share.percent or 0 for share in airing) * 2 > sum(
            share.percent or 0 for share in shares
        )
    else:
        airs = bool(shares) and len(airing) == len(shares)
    chemistry = bath_of(grounds.materials.known, grounds.gather.tables)
    warm = warm_words(grounds.materials.known, grounds.gather.tables)
    return HomeMaterial(airs, chemistry.detergent, warm)


def _work(facts: Facts, materials: Materials, gather: Gather, tally: Tally) -> Work:
    """The mending and altering asked for, without what a hazard or a limit forbids."""
    work = Work([], [])
    table = gather.tables["work"]
    barred: set[str] = set()
    too_hot_work: set[str] = set()
    for key in sorted(facts.work):
        row = table[key]
        service = "mend" if row.flag("repair") else "alter"
        too_hot = row.flag("heat") and tally.severity[IRON_C] == HOTTEST_IRON
        if too_hot:
            says = _("“{work}” needs an iron, and a limit forbids one.", work=row.cells["name"])
            gather.warn("route.work_needs_heat", says, (row.key,))
            too_hot_work.add(row.key)
        if row.flag("cuts") and "clean" not in facts.services and _may_shrink(materials):
            _before_the_cut(row, materials, gather, washed=tally.severity[WASH_C] < HOTTEST_WATER)
        if service in gather.bars:
            barred.add(gather.bars[service])
        elif not too_hot:
            early = row.cells["order"] == "before" and not (
                "clean" in facts.services
                and (set(row.listed("after_when")) & set(facts.hazards) or _tacked(row, materials))
            )
            (work.before if early else work.after).append(row)
    for service in ("mend", "alter"):
        if service in facts.services and service in gather.bars:
            barred.add(gather.bars[service])
    if barred:
        gather.warn("route.work_barred", because=tuple(sorted(barred)))
    if barred or too_hot_work:
        gather.warn("route.work_left_out", because=tuple(sorted({*barred, *too_hot_work})))
    if materials.damage and "mend" not in facts.services:
        gather.warn("route.not_mended", because=tuple(row.key for row in materials.damage))
    return work


def _before_the_cut(work: Row, materials: Materials, gather: Gather, *, washed: bool) -> None:
    """Warn that cloth which is cut now may shrink afterwards, and by how much."""
    rows = shrinking(materials.known, gather.tables)
    percent = rows[0].cells["most"] if rows else ""
    says = _("After the cut it may still shrink by up to {percent} %.", percent=percent)
    do = "" if washed else _("Leave that much in the hem.")
    keys = ("route.wash_before_cut", work.key, *(row.key for row in rows[:1]))
    gather.warn("route.wash_before_cut", says if percent else "", keys, do=do)


def _tacked(work: Row, materials: Materials) -> bool:
    """Whether the damage that this work mends is only secured before water, and mended after."""
    heals = work.listed("heals")
    return any(row.bare in heals and not row.flag("final") for row in materials.damage)


def _may_shrink(materials: Materials) -> bool:
    return any(row.flag("shrinks") for row in materials.fibres)


def _can_press(tally: Tally) -> bool:
    return tally.severity[IRON_C] < HOTTEST_IRON or not tally.severity[STEAM]


def _press_warning(facts: Facts, gather: Gather, tally: Tally) -> None:
    if "press" in facts.services and not _can_press(tally):
        keys = {*tally.why[IRON_C], *tally.why[STEAM]}
        gather.warn("route.no_press", because=tuple(sorted(keys)))


def _special_warning(gather: Gather) -> None:
    """A part that only a specialist or a surface clean serves is named, whatever is chosen."""
    for only, key in (("specialist", "route.specialist"), ("surface", "route.surface_only")):
        if rules := gather.special.get(only):
            gather.warn(key, because=tuple(sorted(rules)))
    if "no_pretreat" in gather.notes:
        gather.warn("route.no_pretreat")


_NO_LABEL = "label.silent_on_delicate"


def _solvent_warning(facts: Facts, materials: Materials, gather: Gather, tally: Tally) -> None:
    """What water is closed to: no advice to try water, and plastic or film waits for a yes.

    Looks at whether water is closed, never at the solvents: so a stricter symbol keeps the word.
    """
    dry = tally.severity[WASH_C] == HOTTEST_WATER and tally.severity[WET]
    if not dry or "clean" not in facts.services:
        return
    if _NO_LABEL in gather.cautions:
        gather.warn(_NO_LABEL, do=_("Keep water off it."))
    for row in materials.solvent_asks:
        says = _("It holds {fibre}, and water is closed to it.", fibre=row.cells["name"])
        gather.warn(row.key, says, level="hold")


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
    for key, caution in gather.cautions.items():
        if caution.level == "refuse" and caution.row.scope == "piece":
            return "decline"
        if caution.level == "hold" and key not in facts.accepted:
            outcome = "ask"
    return outcome
