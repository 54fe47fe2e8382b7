"""From limits and process to ordered steps, each with settings inside the limits."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.decision import Settings, Step
from care_rules.drying import dry, spin_of
from care_rules.limits import (
    ACTIONS,
    ALONE,
    BLEACH,
    BLEACHES,
    CLOTH,
    DRY_ACTION,
    HOTTEST_IRON,
    HOTTEST_WATER,
    IRON_C,
    REVERSE,
    SOLVENTS,
    SPIN,
    STEAM,
    WASH_ACTION,
    WASH_C,
    WET_ACTION,
)
from care_rules.process import SEND_OUT
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.spotting import spotting_steps
from care_rules.steps import WATER, Route
from care_rules.wording import action_words, spin_words


@dataclass(slots=True)
class Work:
    """The mending and altering of a piece, parted by its place beside the cleaning."""

    before: list[Row]
    after: list[Row]


def build(route: Route, work: Work) -> tuple[Step, ...]:
    """All steps of the piece, in order."""
    process = route.process
    cleaned = process.name != "none"
    route.add(
        "check",
        _("Look the piece over, empty the pockets with a tool, close zips and hooks."),
        ("route.check", "sharps.pocket", "customer.valuables", "fire.battery", "fire.lighter"),
    )
    if cleaned:
        _secure(route, work)
        if process.where == SEND_OUT:
            _send_out(route)
        else:
            _clean_here(route)
    elif any(row.cells["before_step"] == "unpick" for row in work.after):
        _unpick(route, work)
    rows = work.after if cleaned else work.before + work.after
    came_back = process.where == SEND_OUT and ("press" in route.facts.services or bool(rows))
    looks = route.materials.watch_heat and (not cleaned or came_back)
    ironed_on = any(row.flag("heat") for row in rows)
    if looks and ironed_on:
        _look_before_heat(route)
    _mend(route, work, cleaned)
    if looks and not ironed_on:
        _look_before_heat(route)
    _press(route, bool(rows))
    if route.materials.stains:
        says = _("Look it over in good light; show any mark that is left to the customer.")
    else:
        says = _("Look it over in good light, with seams, buttons and trims.")
    route.add("inspect", says, ("route.inspect",))
    route.add(
        "assemble",
        _("Bring the pieces of the ticket together, cool and dry."),
        ("route.assemble", "bag.warm"),
    )
    return tuple(route.steps)


def _secure(route: Route, work: Work) -> None:
    """What must be off, shut or open before the cleaning."""
    removed = [row.cells["name"] for row in route.materials.removed]
    keys = {row.key for row in route.materials.removed}
    pre = [row for row in work.after if row.cells["before_step"] == "remove_trim"]
    if removed or pre or "remove_trim" in route.gather.notes:
        says = (
            _("Take off and bag: {names}.", names=", ".join(removed))
            if removed
            else _("Take off and bag.")
        )
        says = " ".join([says, *(row.cells["before_says"] for row in pre)])
        route.add("remove_trim", says, keys | {row.key for row in pre} | {"route.put_back"})
    fixes = {row.cells["fix"]: row.key for row in route.materials.damage}
    fixes |= {
        row.cells["before_says"]: row.key
        for row in work.after
        if row.cells["before_step"] in ("stabilise", "check")
    }
    names = [row.cells["name"] for row in work.before]
    if fixes or work.before:
        says = " ".join([*sorted(fixes), *(_("Do now: {name}.", name=name) for name in names)])
        settings: Settings = {"work": [row.bare for row in work.before]} if work.before else {}
        route.add("stabilise", says, {*fixes.values(), *(row.key for row in work.before)}, settings)
    if any(row.cells["before_step"] == "unpick" for row in work.after):
        _unpick(route, work)


def _unpick(route: Route, work: Work) -> None:
    rows = [row for row in work.after if row.cells["before_step"] == "unpick"]
    says = " ".join(sorted({row.cells["before_says"] for row in rows}))
    route.add("unpick", says, (row.key for row in rows), {"work": [row.bare for row in rows]})


def _send_out(route: Route) -> None:
    process, severity = route.process, route.tally.severity
    told = ""
    if route.materials.stains:
        names = ", ".join(_(row.bare) for row in route.materials.stains)
        told = " " + _("Tell them of: {stains}.", stains=names)
    settings: Settings = {"to": process.name}
    keys = set(process.because) | {row.key for row in route.materials.stains}
    if process.name == "dry_clean":
        settings |= {"solvents": list(process.solvents), "action": ACTIONS[severity[DRY_ACTION]]}
        says = _(
            "Send out to be dry cleaned in {solvents}, {action}.",
            solvents=_(" or ").join(process.solvents),
            action=action_words(settings["action"]),
        )
        keys |= route.why(SOLVENTS, DRY_ACTION)
        notes = route.gather.notes
        asked = notes.get("solvent", {}) | notes.get("solvent_hang", {})
        says = " ".join([says, *sorted(asked)])
        keys |= set(asked.values())
    elif process.name == "wet_clean":
        settings["action"] = ACTIONS[severity[WET_ACTION]]
        action = action_words(settings["action"])
        says = _("Send out to be wet cleaned, {action}.", action=action)
        keys |= route.why(WET_ACTION)
    else:
        says = _("Send out to the leather or fur specialist.")
    if "body.blood" in route.gather.cautions:
        told += " " + _("Label the bag as contaminated.")
        keys.add("body.blood_label")
    route.add("send_out", says + told, keys or {"route.label_names"}, settings)


def _clean_here(route: Route) -> None:
    """Test, spotting, bath, check and drying in the house."""
    materials, process = route.materials, route.process
    in_water = process.name in WATER
    spotting = spotting_steps(materials, route.reading, route.gather, route.tally, in_water)
    tests = {row.key for row in materials.tests}
    if tests or spotting.needs_test:
        route.add(
            "test",
            _("Try water and spotter on a hidden seam and blot with white cloth before going on."),
            tests | {"route.test"},
        )
    for step in spotting.steps:
        route.add(step.step, step.says, step.because, step.settings)
    if process.name == "surface_clean":
        says = _(
            "Brush, then wipe or sponge the surface with cool, barely damp cloth; never immerse."
        )
        route.add("wash", says, process.because, {"process": "surface_clean"})
    elif process.name == "dry_clean":
        _solvent_bath(route)
    else:
        _water_bath(route, spotting.oxygen)
    if materials.watch_heat and process.name != "surface_clean":
        _look_before_heat(route)
    if process.name != "dry_clean":
        dry(route)
    elif hung := route.gather.notes.get("solvent_hang"):
        settings: Settings = {"method": "hang", "tumble": "none"}
        route.add("dry", " ".join(sorted(hung)), {*hung.values(), "route.dry"}, settings)


def _look_before_heat(route: Route) -> None:
    # The washer looks at the wet piece beside the machine; without a bath it is a checker's look.
    bathed = any(step.step == "wash" for step in route.steps)
    route.add(
        "wet_check",
        _("Look for the mark before any heat; if it is there, treat again, no dryer, no iron."),
        {*route.materials.watch_heat, "route.wet_check"},
        station="wash" if bathed else "check",
    )


def _solvent_bath(route: Route) -> None:
    severity, solvents = route.tally.severity, route.process.solvents
    # The gentler solvent where the house has both: F serves whatever P serves.
    solvent = "F" if "F" in solvents else solvents[0]
    action = ACTIONS[severity[DRY_ACTION]]
    text = (
        _("Dry clean in {solvent}, {action}.")
        if "solvent_hang" in route.gather.notes
        else _("Dry clean in {solvent}, {action}; dry fully in the machine.")
    )
    says = text.format(solvent=solvent, action=action_words(action))
    asked = route.gather.notes.get("solvent", {})
    route.add(
        "wash",
        " ".join([says, *sorted(asked)]),
        route.why(SOLVENTS, DRY_ACTION) | {"solvent.residue_bag", *asked.values()},
        {"process": "dry_clean", "solvent": solvent, "action": action},
    )


def _water_bath(route: Route, oxygen: bool) -> None:
    severity, process = route.tally.severity, route.process.name
    spin = spin_of(route)
    settings: Settings = {"process": process}
    if process == "wet_clean":
        action = ACTIONS[severity[WET_ACTION]]
        said = [_("Wet clean in cool water")]
        keys = route.why(WET_ACTION, SPIN)
    else:
        action = ACTIONS[severity[WASH_ACTION]]
        water = HOTTEST_WATER - severity[WASH_C]
        settings["max_c"] = water
        by_hand = process == "hand_wash"
        text = _("Wash by hand at {c} °C at most") if by_hand else _("Wash at {c} °C at most")
        said = [text.format(c=water)]
        keys = route.why(WASH_C, WASH_ACTION, SPIN)
    settings |= {"action": action, "bleach": "none"}
    if spin:
        settings["spin"] = spin
    said += [action_words(action), *([spin_words(spin)] if spin else [])]
    said += [_("alone")] if severity[ALONE] else []
    if process == "machine_wash" and action != "normal":
        fill = _("drum at most two thirds full"), _("drum at most a third full")
        said.append(fill[ACTIONS.index(action) - 1])
        keys.add("label_rule.load_fill_by_bar")
    if oxygen and BLEACHES[severity[BLEACH]] != "none":
        settings["bleach"] = "oxygen"
        said.append(_("oxygen bleach"))
        keys |= route.why(BLEACH)
    route.add("wash", ", ".join(said) + ".", keys or {"route.label_names"}, settings)


def _mend(route: Route, work: Work, cleaned: bool) -> None:
    rows = work.after if cleaned else work.before + work.after
    back = [row.cells["name"] for row in route.materials.removed] if cleaned else []
    label_part = cleaned and "remove_trim" in route.gather.notes
    asked = "mend" in route.facts.services and "mend" not in route.gather.bars
    repairs = route.materials.damage if asked and not any(r.flag("repair") for r in rows) else []
    services = [name for name in ("mend", "alter") if name in route.facts.services]
    open_orders = [name for name in services if name not in route.gather.bars]
    untold = bool(open_orders) and not (route.facts.work or repairs)
    if not (rows or back or label_part or repairs or untold):
        return
    says = [f"{row.cells['name']}." for row in rows]
    if repairs:
        names = ", ".join(row.cells["name"] for row in repairs)
        says.append(_("Mend: {names}.", names=names))
    says += [_("Do the work that is written on the ticket.")] if untold else []
    says += [_("Put back: {names}.", names=", ".join(back))] if back else []
    says += [_("Put back the part that the label had taken off.")] if label_part else []
    keys = {row.key for row in [*rows, *repairs]}
    keys |= {"route.as_ordered"} if untold else set()
    if back or label_part:
        keys |= {"route.put_back", *(row.key for row in route.materials.removed)}
    settings: Settings = {"work": [row.bare for row in rows]}
    if rows:
        settings["minutes"] = sum(int(row.cells["minutes"]) for row in rows)
    if back:
        settings["put_back"] = [row.bare for row in route.materials.removed]
    route.add("mend", " ".join(says), keys, settings)


def _press(route: Route, sewn: bool) -> None:
    if "press" not in route.facts.services and not sewn:
        return
    severity = route.tally.severity
    sole, steam = HOTTEST_IRON - severity[IRON_C], not severity[STEAM]
    if route.process.name in ("specialist", "surface_clean") or not (sole or steam):
        return
    reverse, cloth = severity[REVERSE] > 0, severity[CLOTH] > 0
    if sole:
        said = [_("Press at {c} °C at most", c=sole), _("with steam") if steam else _("no steam")]
        said += [_("on the reverse")] if reverse else []
        said += [_("through a cloth")] if cloth else []
    else:
        said = [_("Steam without touching; no iron")]
    route.add(
        "press",
        ", ".join(said) + ".",
        route.why(IRON_C, STEAM, REVERSE, CLOTH) | {"press.burn"},
        {"max_c": sole, "steam": steam, "reverse_side": reverse, "press_cloth": cloth},
    )
