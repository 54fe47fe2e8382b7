"""Ceiling and floor of a piece, as pages draw them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import template

from counter.care.scales import BoundRow, HeatScale

register = template.Library()


@register.inclusion_tag("counter/care/_heat.html")
def heat_scales(scales: Sequence[HeatScale]) -> dict[str, Any]:
    """The scales of water and iron, each with its rules, its sentence and its table."""
    return {"scales": scales}


@register.inclusion_tag("counter/care/_heat_axis.html")
def heat_axis(scale: HeatScale) -> dict[str, Any]:
    """The scale itself, with its figures; it is heard as one description of the whole."""
    return {"scale": scale}


@register.inclusion_tag("counter/care/_heat_mark.html")
def heat_mark(scale: HeatScale, row: BoundRow) -> dict[str, Any]:
    """A rule's mark on the scale, and the stretch that it closes; its words stand beside it."""
    return {"scale": scale, "row": row}
