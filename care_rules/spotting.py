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
    spotting = Spotting()
    if in_water and (first := gather.notes.get("first_rinse")):
        _rinse(spotting, " ".join(sorted(first)), ("route.rinse", *first.values()))
    if not materials.stains or "no_pretreat" in gather.notes:
        return spotting
    tables = gather.tables
    severity = tally.severity
    never = {agent for row in materials.stains for agent in row.listed("never")}
    never |= materials.banned_agents
    water = min((HOTTEST_WATER - severity[WASH_C], *materials.first_water.values()))
    used: set[str] = set()
    named: set[str] = set()

    def fits(agent: str) -> bool:
        row = tables["agents"][agent]
        return agent not in never and _allowed(row, reading, severity, in_water)

    for row, listed in _in_turn(tables, materials.stains):
        agents = [agent for agent in listed if fits(agent)]
        if listed and not agents and _bleaches(tables, listed):
            continue
        spotting.oxygen |= _bleaches(tables, agents)
        spotting.needs_test |= any(tables["agents"][a].flag("flammable") for a in agents)
        for bath in _baths(tables, agents, used, spotting):
            settings: Settings = {"stain": row.bare, "agents": bath}
            if water and in_water:
                settings["max_c"] = water
            new = row.bare not in named
            named.add(row.bare)
            says = _work(tables, row, bath, settings.get("max_c"), new)
            if new:
                closed = [agent for agent in row.listed("agents") if not fits(agent)]
                says += " " + _forbidden(tables, row, closed)
            keys = {row.key, *(f"agent.{agent}" for agent in bath)}
            spotting.steps.append(Step("pre_spot", "spotting", says, settings, tuple(sorted(keys))))
            used |= set(bath)
    if used and in_water:
        _rinse(spotting, _("Flush it clear from the back."), ("route.rinse",))
    return spotting


def _in_turn(tables: Book, stains: list[Row]) -> list[tuple[Row, tuple[str, ...]]]:
    """The stains with their agents in the order of the work.

    Dry side before wet side, protein, tannin, dye, rust, and any bleach after all else: where two
    stains stand on a piece, what bleaches comes in a round of its own at the end.
    """
    ordered = sorted(stains, key=lambda row: (int(row.cells["turn"]), row.bare))
    if len(ordered) < 2:
        return [(row, row.listed("agents")) for row in ordered]
    gentle, last = [], []
    for row in ordered:
        agents = row.listed("agents")
        bleaching = tuple(agent for agent in agents if _bleaches(tables, [agent]))
        others = tuple(agent for agent in agents if agent not in bleaching)
        gentle.append((row, others))
        if bleaching:
            last.append((row, bleaching))
    return gentle + last


def _bleaches(tables: Book, agents: Iterable[str]) -> bool:
    return any(tables["agents"][agent].cells["needs_bleach"] for agent in agents)


def _work(tables: Book, stain: Row, bath: list[str], water: int | None, first: bool) -> str:
    """The numbered work on one stain: aid, agent and minutes, one after the other."""
    agents = [tables["agents"][agent] for agent in bath]
    doing = [stain.cells["start"]] if first else []
    doing += [
        _("{doing}, {minutes} min", doing=agent.cells["does"], minutes=agent.cells["minutes"])
        for agent in agents
    ]
    if any(agent.flag("flammable") for agent in agents):
        doing.append(_("air it until no smell is left"))
    numbered = "; ".join(f"{number}) {text}" for number, text in enumerate(doing, 1))
    said = _("{stain}: {work}", stain=_upper(_(stain.bare)), work=numbered or _("flush it"))
    if water and any(not agent.flag("dry") for agent in agents):
        said += _(", water up to {c} °C", c=water)
    return f"{said}."


def _forbidden(tables: Book, stain: Row, closed: list[str]) -> str:
    """The one line of what never comes near the stain on this piece."""
    listed = [tables["agents"][agent].cells["name"] for agent in closed]
    listed += stain.cells["never_says"].split("; ")
    return _("Forbidden here: {what}.", what=", ".join(dict.fromkeys(listed)))


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


def _baths(
    tables: Book, agents: list[str], used: set[str], spotting: Spotting
) -> Iterable[list[str]]:
    """The agents of one stain, parted wherever one must not follow another unrinsed."""
    bath: list[str] = []
    for agent in agents:
        danger = dangerous(tables, used | set(bath), agent)
        if danger is not None:
            if bath:
                yield bath
                bath = []
            hazard = danger.cells["hazard"]
            says = _("Flush it fully before the next agent.")
            _rinse(spotting, says, (danger.key, hazard, "route.rinse"))
            used.clear()
        bath.append(agent)
    yield bath


def _rinse(spotting: Spotting, says: str, because: tuple[str, ...]) -> None:
    spotting.steps.append(Step("rinse", "spotting", says, because=tuple(sorted(because))))
