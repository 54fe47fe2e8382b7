"""The steps of a piece's route that are still to do, or done last, from steps read already."""

from __future__ import annotations

from tickets.models import Piece, RouteStep


def open_steps(piece: Piece) -> list[RouteStep]:
    """Steps not done, in order of the route."""
    return [step for step in piece.steps.all() if step.done_at is None]


def at_station(piece: Piece) -> list[RouteStep]:
    """The next open steps that belong together at the piece's station, in order.

    A wet check always stands alone: it needs an answer of its own.
    """
    steps: list[RouteStep] = []
    for step in open_steps(piece):
        if step.station != piece.station or (steps and step.step == "wet_check"):
            break
        steps.append(step)
        if step.step == "wet_check":
            break
    return steps


def last_done(piece: Piece, station: str) -> list[RouteStep]:
    """The steps that the last work at a station finished, in order."""
    done = [step for step in piece.steps.all() if step.station == station and step.done_at]
    latest = max((step.done_at for step in done if step.done_at), default=None)
    return [step for step in done if step.done_at == latest]
