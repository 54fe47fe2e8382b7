"""Spotting before the bath: which agents may touch the piece, and the rinses between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from care_rules.decision import Settings, Step
from care_rules.gather import Gather
from care_rules.labels import Reading
from care_rules.limits import BLEACH, BLEACHES, HOTTEST_WATER, SOLVENT_SETS, SOLVENTS, WASH_C, Tally
from care_rules.materials import Materials
from care_rules.rows import Row
from care_rules.speech import gettext as _
from care_rules.tables import Book


@dataclass(slots=True)
class Spotting:
    """``steps`` in order; ``oxygen`` when the bath itself should carry oxygen bleach."""

    steps: list[Step] = field(default_factory=list)
    needs_test: bool = False
    oxygen: bool = False


def dangerous(tables: Book, used: Iterable[str], agent: str) -> Row | None:
    """The mixture row that forbids this agent on top of those used since the last rinse."""
    for other in sorted(used):
        row = tables.mixtures.get(frozenset((other, agent)))
        if row is not None:
            return row
    return None


def spotting_steps(
    materials: Materials,
    reading: Reading,
    gather: Gather,
    tally: Tally,
    in_water: bool,
) -> Spotting:
    """The pre-spotting of every stain, with a rinse wherever two agents must not meet.

    A last rinse always stands before the bath, so no agent meets what the bath carries. What has
    to be rinsed out before anything else touches it goes first.
    """
    found = Spotting()
    if in_water and (first := gather.notes.get("first_rinse")):
        _rinse(found, " ".join(sorted(first)), ("route.rinse", *first.values()))
    if not materials.stains or "no_pretreat" in gather.notes:
        return found
    tables = gather.tables
    severity = tally.severity
    never = {agent for row in materials.stains for agent in row.listed("never")}
    never |= materials.banned_agents
    water = HOTTEST_WATER - severity[WASH_C]
    used: set[str] = set()
    for row in materials.stains:
        agents = [
            agent
            for agent in row.listed("agents")
            if agent not in never and _allowed(tables["agents"][agent], reading, severity, in_water)
        ]
        found.oxygen |= "peroxide" in agents
        found.needs_test |= any(tables["agents"][a].flag("flammable") for a in agents)
        for bath in _baths(tables, agents, used, found):
            settings: Settings = {"stain": row.bare, "agents": bath}
            if water and in_water:
                settings["max_c"] = water
            says = _bath_says(tables, row, bath, settings.get("max_c"))
            keys = {row.key, *(f"agent.{agent}" for agent in bath)}
            found.steps.append(Step("pre_spot", "spotting", says, settings, tuple(sorted(keys))))
            used |= set(bath)
    if used and in_water:
        _rinse(found, _("Rinse until clear before the bath."), ("route.rinse",))
    return found


def _bath_says(tables: Book, stain: Row, bath: list[str], water: int | None) -> str:
    """What the spotter does: agents, water and what never to do."""
    agents = [tables["agents"][agent] for agent in bath]
    name = _(stain.bare)
    names = ", ".join(agent.cells["name"] for agent in agents)
    said = [
        _("{stain}: treat with {agents}", stain=_upper(name), agents=names)
        if bath
        else _("{stain}: blot and brush only", stain=_upper(name))
    ]
    if water:
        said.append(_("water at most {c} °C", c=water))
    if any(agent.flag("flammable") for agent in agents):
        said.append(_("air it until no smell is left"))
    never = _("Never: {what}.", what=stain.cells["never_says"])
    return f"{', '.join(said)}. {never}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _allowed(agent: Row, reading: Reading, severity: list[int], in_water: bool) -> bool:
    """Whether the limits let this agent be used at all on the piece."""
    bleach = agent.cells["needs_bleach"]
    if bleach and BLEACHES.index(bleach) < severity[BLEACH]:
        return False
    if agent.cells["needs_solvent"]:
        # Solvent spotting only where the P sign stands, and after a hidden test.
        return reading.states("dry_clean") and SOLVENT_SETS[severity[SOLVENTS]] == "PF"
    return in_water or agent.flag("dry")


def _baths(tables: Book, agents: list[str], used: set[str], found: Spotting) -> Iterable[list[str]]:
    """The agents of one stain, parted wherever one must not follow another unrinsed."""
    bath: list[str] = []
    for agent in agents:
        danger = dangerous(tables, used | set(bath), agent)
        if danger is not None:
            if bath:
                yield bath
                bath = []
            hazard = danger.cells["hazard"]
            says = _("Rinse fully before the next agent.")
            _rinse(found, says, (danger.key, hazard, "route.rinse"))
            used.clear()
        bath.append(agent)
    yield bath


def _rinse(found: Spotting, says: str, because: tuple[str, ...]) -> None:
    found.steps.append(Step("rinse", "spotting", says, because=tuple(sorted(because))))
