"""From limits and process to ordered steps, each with settings inside the limits."""

from __future__ import annotations

from dataclasses import dataclass

from care_rules.baths import clean_here, look_before_heat, solvent_tests
from care_rules.decision import Settings, Step
from care_rules.limits import ACTIONS, DRY_ACTION, SOLVENTS, WET_ACTION
from care_rules.pressing import press
from care_rules.process import SEND_OUT
from care_rules.rows import Row, row_name
from care_rules.speech import gettext as _
from care_rules.steps import Route
from care_rules.wording import action_word, specialist_words


@dataclass(slots=True)
class Work:
    """The mending and altering of a piece, parted by its place beside the cleaning."""

    before: list[Row]
    after: list[Row]

    @property
    def heals(self) -> frozenset[str]:
        """Damage that the work itself mends, before the cleaning or once it has been secured."""
        secured = [row for row in self.after if row.cells["before_step"] == "stabilise"]
        return frozenset(key for row in [*self.before, *secured] for key in row.listed("heals"))


def build(route: Route, work: Work) -> tuple[Step, ...]:
    """All steps of the piece, in order."""
    process = route.process
    cleaned = process.name != "none"
    for need in route.needs:
        if need.what in ("isolate", "freeze"):
            settings: Settings = {"hours": need.value} if need.value else {}
            route.add("check", need.says, need.because, settings, noted=False)
    kind = route.gather.tables["kinds"][route.facts.kind]
    route.add(
        "check",
        _first_look(kind.listed("has")),
        ("route.check", "sharps.pocket", "customer.valuables", "fire.battery", "fire.lighter"),
    )
    if cleaned:
        _secure(route, work)
        if process.where == SEND_OUT:
            _send_out(route)
        else:
            clean_here(route)
    elif any(row.cells["before_step"] == "unpick" for row in work.after):
        _unpick(route, work)
    rows = work.after if cleaned else work.before + work.after
    came_back = process.where == SEND_OUT and ("press" in route.facts.services or bool(rows))
    looks = route.materials.watch_heat and (not cleaned or came_back)
    ironed_on = any(row.flag("heat") for row in rows)
    if looks and ironed_on:
        look_before_heat(route)
    _mend(route, work, cleaned)
    if looks and not ironed_on:
        look_before_heat(route)
    press(route, bool(rows))
    if route.materials.stains:
        says = _("Note in good light what is left.")
    else:
        says = _("Check in good light.")
    route.add("inspect", says, ("route.inspect",))
    route.add(
        "assemble",
        _("Match its ticket."),
        ("route.assemble", "bag.warm"),
    )
    return tuple(route.steps)


def _first_look(parts: tuple[str, ...]) -> str:
    """What the counter does with a piece that has these: pockets, fastenings."""
    if "pockets" in parts:
        if "fastenings" in parts:
            return _("Empty pockets with a tool; close zips.")
        return _("Empty pockets with a tool.")
    return _("Close what fastens.") if "fastenings" in parts else _("Look it over.")


def _secure(route: Route, work: Work) -> None:
    """What must be off, shut or open before the cleaning."""
    removed = [row.cells["name"] for row in route.materials.removed]
    keys = {row.key for row in route.materials.removed}
    pre = [row for row in work.after if row.cells["before_step"] == "remove_trim"]
    if removed or pre or "remove_trim" in route.gather.notes:
        said = [_("Take off and bag: {names}.", names=", ".join(removed))] if removed else []
        said += [row.cells["before_says"] for row in pre]
        if not said:
            said = [_("Take off and bag what the label says.")]
        says = " ".join(dict.fromkeys(said))
        route.add("remove_trim", says, keys | {row.key for row in pre} | {"route.put_back"})
    healed = work.heals
    fixes = {row.cells["fix"]: row.key for row in route.materials.damage if row.bare not in healed}
    fixes |= {
        row.cells["before_says"]: row.key
        for row in work.after
        if row.cells["before_step"] in ("stabilise", "check")
    }
    names = [row.cells["name"] for row in work.before]
    if fixes or work.before:
        says = " ".join([*sorted(fixes), *(f"{name}." for name in names)])
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
    settings: Settings = {"to": process.name}
    keys = set(process.because)
    if process.name == "dry_clean":
        settings |= {"solvents": list(process.solvents), "action": ACTIONS[severity[DRY_ACTION]]}
        solvents = _(" or ").join(process.solvents)
        said = [_sent(_("Have it dry cleaned in {solvents}"), settings, solvents)]
        keys |= route.why(SOLVENTS, DRY_ACTION)
        notes = route.gather.notes
        asked = notes.get("solvent", {}) | notes.get("solvent_hang", {})
        said += sorted(asked)
        if tried := solvent_tests(route):
            said.append(_("Hidden test first."))
            keys |= tried
        keys |= set(asked.values())
    elif process.name == "wet_clean":
        settings["action"] = ACTIONS[severity[WET_ACTION]]
        said = [_sent(_("Have it wet cleaned"), settings)]
        keys |= route.why(WET_ACTION)
    else:
        said = [specialist_words()[process.specialist or "leather"]]
    said += _asked_of_partner(route, keys)
    route.add("send_out", " ".join(said), keys or {"route.label_names"}, settings)


def _sent(text: str, settings: Settings, solvents: str = "") -> str:
    sentence = text.format(solvents=solvents)
    gentle = settings["action"] != "normal"
    return f"{sentence}, {action_word(settings['action'])}." if gentle else f"{sentence}."


def _asked_of_partner(route: Route, keys: set[str]) -> list[str]:
    """What the partner is told and asked for; the rules behind it are put into ``keys``."""
    baths = [need for need in route.needs if need.what in ("wash_min_c", "wash_times")]
    said = [need.says for need in baths if need.met]
    hazards = route.gather.tables["hazards"]
    asking = dict.fromkeys(need.key for need in route.needs)
    warned = [hazards[key] for key in asking]
    warned += [
        hazards[key]
        for key, caution in sorted(route.gather.cautions.items())
        if key in hazards
        and key not in asking
        and hazards[key].cells["topic"] in _TOLD
        and not any(other in hazards and other != key for other in caution.because)
    ]
    rows = [*warned, *route.materials.stains]
    names = [_(row.bare) if row.table == "stains" else row_name(row) for row in rows]
    if names:
        said.append(_("Tell them of: {names}.", names=", ".join(names)))
    keys |= {row.key for row in rows}
    if "body.blood" in route.gather.cautions:
        said.append(_("Label the bag as contaminated."))
        keys.add("body.blood_label")
    return said


#: Topics of hazards that whoever opens the bag must know of.
_TOLD = ("body", "pest", "mould", "bedbug", "moth", "scabies_lice", "fr", "dust")


def _mend(route: Route, work: Work, cleaned: bool) -> None:
    rows = work.after if cleaned else work.before + work.after
    back = [row.cells["name"] for row in route.materials.removed] if cleaned else []
    label_part = cleaned and "remove_trim" in route.gather.notes
    asked = "mend" in route.facts.services and "mend" not in route.gather.bars
    ordered = {key for row in work.before + work.after for key in row.listed("heals")}
    # What is stitched for good before the cleaning is not mended a second time.
    damage = [row for row in route.materials.damage if not (cleaned and row.flag("final"))]
    repairs = [row for row in damage if asked and row.bare not in ordered]
    services = [name for name in ("mend", "alter") if name in route.facts.services]
    open_orders = [name for name in services if name not in route.gather.bars]
    untold = bool(open_orders) and not (route.facts.work or route.materials.damage)
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
