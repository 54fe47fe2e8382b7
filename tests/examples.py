"""How many examples a property draws: a quarter where the quick tests run alone."""

from __future__ import annotations

from typing import Any

from hypothesis import settings

QUICK = "quick"
"""The profile of a run without the slow tests; ``tests/conftest.py`` chooses it."""

MOST = 100
"""Hypothesis's own count."""


def examples(most: int = MOST, **options: Any) -> settings:
    """Settings of a property that draws so many examples, without a limit of time."""
    is_quick = settings.get_current_profile_name() == QUICK
    return settings(max_examples=most // 4 if is_quick else most, deadline=None, **options)
