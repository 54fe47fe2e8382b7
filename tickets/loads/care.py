"""From a decision to a piece of a load: what the planner needs of it, read once."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from care_rules import Decision, Facts
from care_rules.fibre_words import fibres_named
from care_rules.limits import ACTIONS, SPINS, TUMBLES
from care_rules.loads import action_of
from care_rules.tables import book
from tickets.loads.items import DRY, SEND_OUT, WASH, LoadItem
from tickets.loads.load_roles import roles

_GRADE = "grade_stain_"
_SYNTHETIC = "synthetic"
_COTTON_LIKE = "cellulosic_natural"


def load_piece_from(
    decision: Decision,
    facts: Facts,
    grams: int,
    due: int,
    code: str,
    *,
    stage: str = "",
    fragrance_free: bool = False,
) -> LoadItem:
    """The piece as the planner sees it.

    ``grams`` is the dry weight by the scale, or 0 to take the kind's; ``due`` is the machine
    minute by which it must be out. ``stage`` is wash, dry or send_out (by default what the
    decision says). Raises ValueError for a piece that is not accepted: it goes into no load.
    """
    if decision.outcome != "accept":
        raise ValueError(
            f"piece {code}: its decision is {decision.outcome!r}; load only accepted pieces"
        )
    limits, load = decision.limits, decision.load
    cautions = {caution.key for caution in decision.cautions if caution.scope == "piece"}
    roles = _roles(facts, cautions)
    wash, action = limits.wash, action_of(decision)
    return LoadItem(
        code=code,
        due=due,
        grams=grams or kind_grams(facts.kind),
        stage=stage or (SEND_OUT if decision.where == "send_out" else WASH),
        process=decision.process,
        where=decision.where,
        max_c=wash.max_c,
        action=ACTIONS.index(action),
        hand_only=wash.hand_only,
        spin=SPINS.index(_spin(decision)),
        bleach=limits.bleach,
        tumble=TUMBLES.index(limits.tumble),
        solvents="".join(limits.dry_clean.solvents),
        colour_group=load.colour_group,
        alone=load.alone,
        mesh_bag=load.mesh_bag,
        inside_out=load.inside_out,
        softener=load.softener,
        fragrance_free=fragrance_free or "allergy.residue" in cautions,
        bleeds=_grade(facts.trims),
        lint=_lint(roles, facts, load.colour_group),
        hardware="hardware" in roles,
        fine="fine" in roles or ACTIONS.index(action) == len(ACTIONS) - 1,
        heavy="heavy" in roles,
        filled="filled" in roles,
        group=_group(roles),
        cloth=_cloth(roles, facts, load.colour_group),
    )


def may_tumble(piece: LoadItem) -> bool:
    """Whether the piece may go into a dryer at all; else it hangs or lies flat."""
    return piece.tumble < len(TUMBLES) - 1


def dry_stage(piece: LoadItem, due: int) -> LoadItem:
    """The same piece waiting for a dryer. Raises ValueError where no dryer may take it."""
    if not may_tumble(piece):
        raise ValueError(f"piece {piece.code}: no dryer may take it; hang it or lay it flat")
    fields = {name: getattr(piece, name) for name in LoadItem.__dataclass_fields__}
    return LoadItem(**{**fields, "stage": DRY, "due": due})


def kind_grams(kind: str) -> int:
    """Dry grams of a kind by the care tables, for a piece that nobody weighed."""
    return int(book()["kinds"][kind].cells["grams"])


def _spin(decision: Decision) -> str:
    """The spin of its bath. A crossed tub bans the spin of a wash, not that of a wet clean: there
    the step says it, and where it says none the programme's own counts."""
    wash = decision.limits.wash
    if decision.process != "wet_clean" or wash.allowed:
        return wash.spin
    baths = [step.settings for step in decision.steps if step.step == "wash"]
    return baths[0].get("spin", "normal") if baths else "normal"


def _roles(facts: Facts, cautions: Iterable[str]) -> frozenset[str]:
    """All roles that the piece's kind, making, trims, fibres and hazards give it."""
    has: dict[str, set[str]] = {
        "kind": {facts.kind},
        "construction": {facts.construction},
        "trim": set(facts.trims),
        "fibre": set(_fibres(facts)),
        "family": {_family(fibre) for fibre in _fibres(facts)},
    }
    roles_held = {role for on, key, role in roles() if on != "hazard" and key in has[on]}
    for on, prefix, role in roles():
        if on == "hazard" and any(key.startswith(prefix) for key in cautions):
            roles_held.add(role)
    return frozenset(roles_held)


def _fibres(facts: Facts, parts: tuple[str, ...] = ()) -> dict[str, float]:
    """Fibre to its largest share in percent over the parts (100 where no share was stated)."""
    shares: dict[str, float] = {}
    for component in facts.components:
        if parts and component.part not in parts:
            continue
        for share in component.fibres:
            percent = 100.0 if share.percent is None else float(share.percent)
            for fibre in fibres_named(share.fibre, book()):
                shares[fibre] = max(shares.get(fibre, 0.0), percent)
    return shares


@cache
def _family(fibre: str) -> str:
    return book()["fibres"][fibre].cells["family"]


def _lint(roles: frozenset[str], facts: Facts, colour: str) -> str:
    """Giver, receiver or neither. Dark synthetics and dark pile show every fluff."""
    if "lint_giver" in roles:
        return "giver"
    if "lint_receiver" in roles:
        return "receiver"
    if colour in ("dark", "denim"):
        shell = _fibres(facts, ("shell",))
        catching = {f for f in shell if book()["fibres"][f].cells["lint"] == "receiver"}
        if sum(shell[fibre] for fibre in catching) >= 50:
            return "receiver"
    return ""


def _grade(trims: Iterable[str]) -> int:
    """The worst staining grade told, times ten: ``grade_stain_3_4`` is 35. 0 when none."""
    grades = []
    for trim in trims:
        if trim.startswith(_GRADE):
            whole, _, half = trim.removeprefix(_GRADE).partition("_")
            grades.append(int(whole) * 10 + (5 if half else 0))
    return min(grades, default=0)


def _group(roles: frozenset[str]) -> str:
    groups = sorted(role.removeprefix("group:") for role in roles if role.startswith("group:"))
    return "+".join(groups)


def _cloth(roles: frozenset[str], facts: Facts, colour: str) -> str:
    """The ``load.ratio`` row of the cloth, the loosest that applies first."""
    if "filled" in roles:
        return "duvet_filled"
    for cloth in ("wool_silk", "delicate", "denim", "terry"):
        if f"cloth:{cloth}" in roles:
            return cloth
    shell = _fibres(facts, ("shell",))
    total = sum(shell.values())
    if not total:
        return "delicate"
    synthetic = sum(share for f, share in shell.items() if _family(f) == _SYNTHETIC) / total
    plant = sum(share for f, share in shell.items() if _family(f) == _COTTON_LIKE) / total
    if synthetic >= 0.9:
        return "polyester"
    if synthetic >= 0.2:
        return "polycotton"
    if plant >= 0.8:
        return "cotton_white" if colour == "white" else "coloured_cotton"
    return "delicate"
