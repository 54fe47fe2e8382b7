"""Cleaning in the house: hidden test, spotting, bath, the look before heat, and drying."""

from __future__ import annotations

from collections.abc import Iterator

from care_rules.behaviour import bath_of, colour_test
from care_rules.decision import Settings
from care_rules.drying import dry, spin_of
from care_rules.limits import (
    ACTIONS,
    ALONE,
    BLEACH,
    BLEACHES,
    DRY_ACTION,
    HANG,
    HOTTEST_WATER,
    INSIDE_OUT,
    MESH,
    SOLVENTS,
    SPIN,
    TUMBLE,
    TUMBLES,
    WASH_ACTION,
    WASH_C,
    WET_ACTION,
)
from care_rules.process import WATER
from care_rules.speech import gettext as _
from care_rules.spotting import spotting_steps
from care_rules.steps import Route
from care_rules.wording import action_word, company_words, spin_words

#: The first bath of what heat would set, in degrees Celsius: cold from the tap (UK HSE laundry
#: guidance asks for a cold sluice before the hot wash; the figure is common practice, no source).
COLD = 25
_COLD_FIRST = frozenset({"body.blood", "body.vomit_faeces"})


def clean_here(route: Route) -> None:
    """Every step of a cleaning that the shop does itself."""
    materials, process = route.materials, route.process
    for need in route.needs:
        if need.what == "heat_first":
            route.add(
                "dry",
                need.says,
                need.because,
                {"method": "tumble", "tumble": TUMBLES[route.tally.severity[TUMBLE]]},
            )
    in_water = process.name in WATER
    spotting = spotting_steps(materials, route.reading, route.gather, route.tally, in_water)
    cold = [need for need in route.needs if need.key in _COLD_FIRST and need.what == "wash_min_c"]
    _test(route, spotting.needs_test)
    for step in spotting.steps:
        route.add(step.step, step.says, step.because, step.settings)
    if cold and in_water and not materials.first_water:
        water = min(COLD, HOTTEST_WATER - route.tally.severity[WASH_C])
        route.add(
            "pre_spot",
            _("Soak and rinse it cold first, up to {c} °C.", c=water),
            {key for need in cold for key in need.because},
            {"bath": "first", "agents": [], "max_c": water},
        )
    if process.name == "surface_clean":
        says = _("Brush it, then wipe it with a cool, barely damp cloth; never immerse it.")
        route.add("wash", says, process.because, {"process": "surface_clean"})
    elif process.name == "dry_clean":
        _solvent_bath(route)
    else:
        _water_bath(route, spotting.oxygen)
    if materials.watch_heat and process.name != "surface_clean":
        look_before_heat(route)
    if process.name != "dry_clean":
        dry(route)
    elif hung := route.gather.notes.get("solvent_hang"):
        _dry_of_solvent(route, hung)


def solvent_tests(route: Route) -> set[str]:
    """The trims and fibres that are tried in solvent on a hidden place before it is used."""
    trims = [row for row in route.materials.tests if row.table == "trims"]
    return {row.key for row in [*trims, *route.materials.solvent_asks]}


def _test(route: Route, spotter: bool) -> None:
    """The hidden test: of the spotter, or of the colour in what the piece is cleaned with."""
    in_solvent = route.process.name == "dry_clean"
    if in_solvent and (tried := solvent_tests(route)):
        says = _("Test a hidden place in the solvent; stop if it softens or bleeds.")
        route.add("test", says, tried | {"route.test"})
        return
    way = "solvent" if in_solvent else "water"
    colour = colour_test(way, frozenset(route.facts.trims), route.gather.tables)
    rows = [row for row in route.materials.tests if colour or row.table != "colours"]
    keys = {row.key for row in rows} | {"route.test"}
    if spotter:
        route.add("test", _("Try the spotter on a hidden seam; stop if it bleeds."), keys)
    elif rows:
        says = colour.cells["does"] if colour else _("Damp a hidden place; stop if it suffers.")
        route.add("test", says, keys | ({colour.key} if colour else set()))


def _dry_of_solvent(route: Route, hung: dict[str, str]) -> None:
    """What may not be tumbled after the solvent hangs as its label says, or lies flat."""
    flat = route.tally.severity[HANG] > 0
    says = _("Dry it flat in a cabinet, without heat.") if flat else " ".join(sorted(hung))
    keys = {*hung.values(), "route.dry"} | (route.why(HANG) if flat else set())
    route.add("dry", says, keys, {"method": "flat" if flat else "hang", "tumble": "none"})


def look_before_heat(route: Route) -> None:
    """The look for a mark that heat would set."""
    # The washer looks at the wet piece beside the machine; without a bath it is a checker's look.
    bathed = any(step.step == "wash" for step in route.steps)
    route.add(
        "wet_check",
        _("No heat while a mark shows: treat again."),
        {*route.materials.watch_heat, "route.wet_check"},
        station="wash" if bathed else "check",
    )


def _solvent_bath(route: Route) -> None:
    severity, solvents = route.tally.severity, route.process.solvents
    # The gentler solvent where the house has both: F serves whatever P serves.
    solvent = "F" if "F" in solvents else solvents[0]
    action = ACTIONS[severity[DRY_ACTION]]
    said = [_("Dry clean in {solvent}", solvent=solvent)]
    said += [action_word(action)] if action != "normal" else []
    said += _bagged(route)
    said += [_("alone")] if severity[ALONE] else []
    fluid = next(
        row for row in route.gather.tables["solvents"].values() if row.cells["letter"] == solvent
    )
    if "solvent_hang" not in route.gather.notes:
        outlet = fluid.cells["gentle_out_c"] if action != "normal" else ""
        text = (
            _("dried fully in the machine up to {c} °C")
            if outlet
            else _("dried fully in the machine")
        )
        said.append(text.format(c=outlet))
    asked = route.gather.notes.get("solvent", {})
    route.add(
        "wash",
        " ".join([", ".join(said) + ".", *sorted(asked)]),
        route.why(SOLVENTS, DRY_ACTION) | {"solvent.residue_bag", fluid.key, *asked.values()},
        {"process": "dry_clean", "solvent": solvent, "action": action},
    )


def _water_bath(route: Route, oxygen: bool) -> None:
    severity, process = route.tally.severity, route.process.name
    spin = spin_of(route)
    settings: Settings = {"process": process, "bath": "main"}
    if times := max(
        (need.value or 1 for need in route.needs if need.what == "wash_times"), default=0
    ):
        settings["times"] = times
    if process == "wet_clean":
        action = ACTIONS[severity[WET_ACTION]]
        said = [_("Wet clean in cool water")]
        keys = route.why(WET_ACTION, SPIN)
    else:
        action = ACTIONS[severity[WASH_ACTION]]
        water = HOTTEST_WATER - severity[WASH_C]
        settings["max_c"] = water
        by_hand = process == "hand_wash"
        text = _("Wash by hand up to {c} °C") if by_hand else _("Wash up to {c} °C")
        said = [text.format(c=water)]
        keys = route.why(WASH_C, WASH_ACTION, SPIN)
    settings |= {"action": action, "bleach": "none"}
    chemistry = bath_of(route.materials.known, route.gather.tables)
    if chemistry.detergent:
        settings["detergent"] = chemistry.detergent
        row = route.gather.tables["detergents"][chemistry.detergent]
        if chemistry.named:
            said = [_("{bath} in {detergent}", bath=said[0], detergent=row.cells["name"])]
        keys |= {row.key, *chemistry.because}
    if spin:
        settings["spin"] = spin
    said += _programme(process, action, spin)
    said += _company(route)
    said += _bagged(route)
    if process == "machine_wash" and action != "normal":
        fill = _("drum two thirds full"), _("drum a third full")
        if not severity[ALONE]:
            said.append(fill[ACTIONS.index(action) - 1])
        keys.add("label_rule.load_fill_by_bar")
    if oxygen and BLEACHES[severity[BLEACH]] != "none":
        settings["bleach"] = "oxygen"
        said.append(_("with oxygen bleach"))
        keys |= route.why(BLEACH)
    route.add("wash", ", ".join(said) + ".", keys or {"route.label_names"}, settings)


def _programme(process: str, action: str, spin: str) -> Iterator[str]:
    """Action and spin where they are gentler than what goes without saying."""
    by_hand = process == "hand_wash"
    if action != "normal" and not by_hand:
        yield action_word(action)
    # A gentle programme spins briefly of itself, and hands do not spin.
    if spin == "none" or (spin == "reduced" and action == "normal" and not by_hand):
        yield spin_words(spin)


def _company(route: Route) -> Iterator[str]:
    """With what the piece may share a bath."""
    if route.tally.severity[ALONE]:
        yield _("alone")
    elif company := company_words(route.materials.colour_group):
        yield company


def _bagged(route: Route) -> Iterator[str]:
    severity = route.tally.severity
    if severity[INSIDE_OUT]:
        yield _("inside out")
    if severity[MESH]:
        yield _("in a net bag")
