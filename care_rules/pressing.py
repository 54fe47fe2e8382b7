"""How a piece is pressed: sole, steam, side, cloth, pad and vacuum."""

from __future__ import annotations

from care_rules.behaviour import rows_about
from care_rules.decision import Settings
from care_rules.limits import CLOTH, HOTTEST_IRON, IRON_C, REVERSE, STEAM
from care_rules.process import IN_HOUSE, WATER
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.steps import Route

#: From the hardest to the one that touches a pile least.
_PADS = ("firm", "soft", "needle")
_DARK = ("dark", "denim")
#: A sole at one dot makes no steam, in degrees Celsius (ISO 3758:2012 bars steam with one dot).
_NO_STEAM_C = 120


def press(route: Route, sewn: bool) -> None:
    """The pressing step, where pressing is asked for or follows from sewing, and may be done."""
    if "press" not in route.facts.services and not sewn:
        return
    severity = route.tally.severity
    sole, steam = HOTTEST_IRON - severity[IRON_C], not severity[STEAM]
    if route.process.name in ("specialist", "surface_clean") or not (sole or steam):
        return
    habits = _habits(route)
    cloths = {row.cells["cloth"] for row in habits}
    shining = bool(cloths & {"dry", "damp"})
    cloth = severity[CLOTH] > 0 or (sole > 0 and shining)
    dark = sole > 0 and not cloth and route.materials.colour_group in _DARK
    reverse = severity[REVERSE] > 0 or dark
    damp_cloth = cloth and "damp" in cloths and steam and sole > _NO_STEAM_C
    said = (
        [_("Steam-press up to {c} °C", c=sole), _("through a damp cloth")]
        if damp_cloth
        else [_how(sole, steam, _damp(route, habits, sole))]
    )
    said += [_("on the reverse")] if reverse and sole else []
    said += [_("through a cloth")] if cloth and sole and not damp_cloth else []
    keys = route.why(IRON_C, STEAM, REVERSE, CLOTH) | {"press.burn"}
    keys |= {"route.shine"} if sole and (shining or dark) else set()
    settings: Settings = {
        "max_c": sole,
        "steam": steam,
        "reverse_side": reverse,
        "press_cloth": cloth,
    }
    if habits:
        settings["pad"] = max((row.cells["pad"] for row in habits), key=_PADS.index)
        settings["vacuum"] = any(row.cells["vacuum"] == "after" for row in habits)
        keys |= {row.key for row in habits}
    doing = [row.cells["does"] for row in habits if row.cells["does"]]
    notes = route.gather.notes
    asked = notes.get("press_sole", {}) if sole else {}
    asked = asked | notes.get("press_steam" if steam else "press_dry", {})
    route.add(
        "press",
        " ".join([", ".join(said) + ".", *sorted(asked), *doing]),
        keys | set(asked.values()),
        settings,
    )


def _how(sole: int, steam: bool, damp: bool) -> str:
    if not sole:
        return _("Steam it without touching, no iron")
    if not steam:
        return _("Press up to {c} °C, no steam", c=sole)
    if sole <= _NO_STEAM_C:
        return _("Press up to {c} °C, steam from a distance", c=sole)
    text = _("Press damp up to {c} °C, with steam") if damp else _("Press up to {c} °C, with steam")
    return text.format(c=sole)


def _rows(route: Route) -> list[Row]:
    """The fibres of the shell, which meets the iron; all that are known where no shell is told."""
    fibres = route.gather.tables["fibres"]
    shell = [part for part in route.facts.components if part.part == "shell"]
    rows = [fibres[share.fibre] for part in shell for share in part.fibres if share.fibre in fibres]
    return rows or route.materials.fibres


#: What a piece brings to the press whatever it is made of.
_OF_ANY_FIBRE = ("trim:", "kind:", "construction:")


def _habits(route: Route) -> tuple[Row, ...]:
    """How such cloth is pressed; only what the iron meets counts of the fibres."""
    known = {fact for fact in route.materials.known if fact.startswith(_OF_ANY_FIBRE)}
    for row in _rows(route):
        known |= {f"fibre:{row.bare}", f"family:{row.cells['family']}"}
    return rows_about("pressing", known, route.gather.tables)


def damp_for_press(route: Route) -> bool:
    """Whether the piece should come out of the drying damp, since it is pressed then."""
    sole = HOTTEST_IRON - route.tally.severity[IRON_C]
    return "press" in route.facts.services and _damp(route, _habits(route), sole)


def _damp(route: Route, habits: tuple[Row, ...], sole: int) -> bool:
    process = route.process
    washed = process.name in WATER and process.where == IN_HOUSE
    ironed = sole > _NO_STEAM_C and not route.tally.severity[STEAM]
    sewn = bool(route.facts.work) or {"mend", "alter"} & set(route.facts.services)
    wanted = any(row.flag("damp") for row in habits)
    return washed and ironed and wanted and not sewn
