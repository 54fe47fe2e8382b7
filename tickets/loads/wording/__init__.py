"""Words for loads and bags: what each is called, where it stands, what to do next.

A bag goes through the same states as a machine load, and is opened, closed, started, finished and
counted out by the same cards; only its words differ.
"""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tickets.loads.wording.reasons import kilograms
from tickets.models import Load, Partner
from tickets.models.machines import LoadEventKind, LoadState

Words = Mapping[str, object]

_BAG_STATES = {
    LoadState.RUNNING: gettext_lazy("Gone"),
    LoadState.FINISHED: gettext_lazy("Back"),
    LoadState.EMPTIED: gettext_lazy("Counted out"),
}

_NEXT = {
    LoadState.FILLING: gettext_lazy("Scan pieces into it, then CLOSE."),
    LoadState.CLOSED: gettext_lazy("START it, or UNDO to change it."),
    LoadState.RUNNING: gettext_lazy("FINISH it when the run is over."),
    LoadState.FINISHED: gettext_lazy("Scan each piece out of it."),
    LoadState.EMPTIED: gettext_lazy("Open a new load."),
    LoadState.UNDONE: gettext_lazy("Open a new load."),
}

_BAG_NEXT = {
    LoadState.CLOSED: gettext_lazy("START it when it is picked up, or UNDO to change it."),
    LoadState.RUNNING: gettext_lazy("FINISH it when it is back."),
    LoadState.EMPTIED: gettext_lazy("Open a new bag."),
    LoadState.UNDONE: gettext_lazy("Open a new bag."),
}

assert set(_NEXT) == set(LoadState)

_BAG_EVENTS = {
    LoadEventKind.STARTED: gettext_lazy("Picked up"),
    LoadEventKind.FINISHED: gettext_lazy("Brought back"),
    LoadEventKind.NEVER_IN: gettext_lazy("Was not in the bag"),
}


def fill_words(percent: int, grams: int) -> str:
    """How full a drum or bag is, and what it would hold of cloth like this, in whole kilograms."""
    if not percent:
        return _("empty")
    return _("%(percent)d %% full, %(taken)s of about %(whole)d kg dry") % {
        "percent": percent,
        "taken": kilograms(grams),
        "whole": max(1, round(grams / percent / 10)),
    }


def title(load: Load) -> str:
    """As people say it: load 12, bag 13."""
    words = _("Bag %(load)d") if load.is_bag else _("Load %(load)d")
    return words % {"load": load.pk}


def state_words(load: Load) -> str:
    state = LoadState(load.state)
    return str(_BAG_STATES.get(state, state.label) if load.is_bag else state.label)


def next_words(load: Load) -> str:
    """What a person can do with it as it stands."""
    state = LoadState(load.state)
    return str(_BAG_NEXT.get(state, _NEXT[state]) if load.is_bag else _NEXT[state])


def event_words(load: Load, kind: str) -> str:
    event_kind = LoadEventKind(kind)
    return str(_BAG_EVENTS.get(event_kind, event_kind.label) if load.is_bag else event_kind.label)


def done_words(
    load: Load, kind: str, words: Mapping[str, object], some_left: bool
) -> tuple[str, str]:
    """The sentence for what was done, and what to do next.

    ``words`` holds piece, count, programme, fill, named (what is left), kg, back, steps and
    missing (what was counted in and not found).
    """
    figures = {
        **words,
        "load": load.pk,
        "title": title(load),
        "holder": load.holder.name,
        "state": state_words(load),
    }
    says, cure = (_bag if load.is_bag else _machine)(
        LoadState(load.state), kind, figures, some_left
    )
    return says % figures, cure % figures


def _machine(state: LoadState, kind: str, words: Words, some_left: bool) -> tuple[str, str]:
    if kind == LoadEventKind.ADDED:
        return _("%(piece)s is in: %(programme)s, %(fill)d %% full."), "%(steps)s"
    if kind == LoadEventKind.TAKEN_OFF:
        says = _("%(piece)s is off.")
        return (f"{says} " + _("Now %(programme)s.") if some_left else says), ""
    if kind == LoadEventKind.CLOSED:
        return _("%(title)s is closed with %(count)s: %(programme)s."), _("Then START it.")
    if kind == LoadEventKind.STARTED:
        says = _("%(holder)s runs load %(load)d: %(programme)s.")
        return says, _("FINISH it when the run is over.")
    if kind == LoadEventKind.FINISHED:
        return _("The run is over."), _("Scan each piece out of the drum: %(count)s.")
    if kind in (LoadEventKind.COUNTED_OUT, LoadEventKind.NEVER_IN):
        out = kind == LoadEventKind.COUNTED_OUT
        says = _("%(piece)s is out.") if out else _("%(piece)s was not in the drum: look for it.")
        if some_left:
            return says, _("Still in the drum: %(named)s.")
        if words["missing"]:
            return says + " " + _("%(holder)s is free, and was missing: %(missing)s."), ""
        return says + " " + _("Count out equals count in: %(holder)s is free."), ""
    return _undone(state), ""


def _bag(state: LoadState, kind: str, words: Words, some_left: bool) -> tuple[str, str]:
    if kind == LoadEventKind.ADDED:
        return _("%(piece)s is in the bag: %(count)s, %(kg)s kg."), "%(steps)s"
    if kind == LoadEventKind.TAKEN_OFF:
        return _("%(piece)s is off."), ""
    if kind == LoadEventKind.CLOSED:
        says = _("%(title)s for %(holder)s is closed with %(count)s.")
        return says, _("START it when it is picked up.")
    if kind == LoadEventKind.STARTED:
        says = _("%(title)s is gone to %(holder)s with %(count)s.")
        return says, _("Back by %(back)s.") if words["back"] else _("FINISH it when it is back.")
    if kind == LoadEventKind.FINISHED:
        return _("%(title)s is back."), _("Scan each piece out of the bag: %(count)s.")
    if kind == LoadEventKind.COUNTED_OUT:
        if some_left:
            return _("%(piece)s is out."), _("Still in the bag: %(named)s.")
        if words["missing"]:
            return _("%(piece)s is out.") + " " + _("Was missing: %(missing)s."), ""
        return _("%(piece)s is out.") + " " + _("Count out equals count in."), ""
    if kind == LoadEventKind.NEVER_IN:
        says = _("%(piece)s was not in the bag: it is on hold until %(holder)s has answered.")
        return says, _("Still in the bag: %(named)s.") if some_left else ""
    return _undone(state), ""


def _undone(state: LoadState) -> str:
    if state == LoadState.UNDONE:
        return _("%(title)s is undone. Its pieces wait here as before.")
    return _("One step back. %(title)s is now: %(state)s.")


def not_in_bag(load: Load, partner: Partner) -> str:
    """Why a piece is held that did not come back in its bag."""
    return _("Not in bag %(load)d: it did not come back in it. Ask %(partner)s.") % {
        "load": load.pk,
        "partner": partner.name,
    }


def add_anyway() -> str:
    """Asked where a piece lowers the programme of a load."""
    return _("Add it all the same?")
