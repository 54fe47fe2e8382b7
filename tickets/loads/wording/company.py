"""Why pieces may share a run or not, what to do so that they may, and what one more would change.

``piece``, ``other`` and ``machine`` are what pieces and machines are called.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets.loads.items import SEND_OUT, WASH, LoadItem
from tickets.shop.machine_facts import ProgrammeFacts

_CLASH = {
    "hygiene": gettext_lazy("A piece with a hygiene caution runs apart from all others."),
    "pesticide": gettext_lazy("A piece with pesticide on it runs apart from all others."),
    "flame_resistant": gettext_lazy("A flame-resistant piece runs only with its like."),
    "stage": gettext_lazy("They wait for different machines."),
    "alone": gettext_lazy("One of them must run alone."),
    "scent": gettext_lazy("A fragrance-free customer's piece would take scent from the other."),
    "fluff": gettext_lazy("One sheds fluff and the other shows it."),
    "weight": gettext_lazy("Heavy cloth would beat the fine piece."),
    "stains": gettext_lazy("One of them stains others: only its own colour group may join it."),
    "colour_unknown": gettext_lazy(
        "The colour of one of them is not known, and damp cloth still stains."
    ),
}


def clash_words(clash: str) -> str:
    """The rule of the drum that keeps two pieces apart; ``clash`` is its key."""
    return str(_CLASH[clash])


def shared_words(stage: str) -> str:
    """Why two pieces may share a bag or a tumble dryer, where no limits of washing meet."""
    if stage == SEND_OUT:
        return _("Both go out to a partner: one bag takes them.")
    return _("Both may be tumbled at the gentler setting of the two.")


# Steps that make company harmless


def fine_step(hard: LoadItem, fine: LoadItem) -> str:
    """What keeps metal off fine cloth, named for the piece that it is done to."""
    if fine.mesh_bag:
        return _("Keep %(piece)s in its mesh bag.") % {"piece": fine.code}
    if hard.inside_out:
        return _("Close %(piece)s and turn it inside out, so that no metal rubs.") % {
            "piece": hard.code
        }
    return _("Put %(piece)s into a mesh bag.") % {"piece": fine.code}


def no_softener() -> str:
    return _("Leave softener out of this load.")


def load_steps(pieces: Sequence[LoadItem], steps: Sequence[str]) -> list[str]:
    """What to do with a load, each step once; ``steps``: what its pairs ask for."""
    bags = [
        _("%(piece)s in its mesh bag.") % {"piece": piece.code}
        for piece in pieces
        if piece.mesh_bag and not any(piece.code in step for step in steps)
    ]
    turned = [
        _("Turn %(piece)s inside out.") % {"piece": piece.code}
        for piece in pieces
        if piece.inside_out and not any(piece.code in step for step in steps)
    ]
    shared = []
    if any(piece.fragrance_free for piece in pieces):
        shared.append(_("Use a detergent without fragrance."))
    if any(piece.stage == WASH and not piece.softener for piece in pieces):
        shared.append(no_softener())
    return list(dict.fromkeys([*steps, *bags, *turned, *shared]))


# Why a load can't run


def parted(piece: str, other: str, why: str) -> str:
    return _("%(one)s and %(other)s may not share: %(why)s") % {
        "one": piece,
        "other": other,
        "why": why,
    }


def no_programme(machine: str) -> str:
    return _("%(machine)s has no programme that all pieces allow.") % {"machine": machine}


def too_many(machine: str, most: int) -> str:
    return _("%(machine)s takes %(most)d at a time.") % {"machine": machine, "most": most}


def too_heavy(grams: int, most_grams: int) -> str:
    return _("The bag would weigh %(grams)d g; one person lifts %(room)d kg at most.") % {
        "grams": grams,
        "room": most_grams // 1000,
    }


def too_full(programme: str, millilitres: int, machine: str, most_millilitres: int) -> str:
    return _("%(programme)s needs %(taken)d l of drum; %(machine)s has %(room)d l.") % {
        "programme": programme,
        "taken": -(-millilitres // 1000),
        "machine": machine,
        "room": most_millilitres // 1000,
    }


def too_filled(machine: str) -> str:
    return _("Filled pieces would take more than their share of %(machine)s.") % {
        "machine": machine
    }


def no_machine_words(says: Sequence[str]) -> str:
    """Why no machine of a station takes a piece; ``says``: why each of them does not."""
    return says[0] if len(set(says)) == 1 else _("No machine here has a programme that it allows.")


# What one more piece would change


def not_with(other: str, why: str) -> str:
    return _("Not with %(other)s: %(why)s") % {"other": other, "why": why}


def bag_takes_it() -> str:
    return _("The bag takes it.")


def runs_at(before: ProgrammeFacts | None, after: ProgrammeFacts) -> str:
    """What the load runs at with the piece in; ``before``: without it, None for an empty load."""
    if before is None:
        says = _("The load runs at %(words)s.")
    elif after == before:
        says = _("The load stays at %(words)s.")
    else:
        says = _("Adding this drops the load to %(words)s.")
    return says % {"words": after.words}
