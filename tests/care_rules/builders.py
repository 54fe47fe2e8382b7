"""Short ways to write facts in tests."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

from care_rules import Decision, decide, parse_facts

SHOP = {
    "wet_cleaning": False,
    "dry_cleaning": [],
    "send_out": ["dry_clean", "wet_clean", "leather"],
}


def part(text: str, name: str = "shell") -> dict[str, Any]:
    """A part from words such as ``wool 80, polyamide 20`` or ``cotton``."""
    fibres = []
    for item in text.split(","):
        fibre, _, percent = item.strip().partition(" ")
        fibres.append({"fibre": fibre, "percent": float(percent) if percent else 100})
    return {"part": name, "fibres": fibres}


def piece(fibres: str = "cotton", symbols: str | None = None, **more: Any) -> dict[str, Any]:
    """Facts of a piece: fibres of the shell, label symbols in one string, and anything else.

    ``lining`` and ``filling`` take fibres too; ``symbols=None`` means that there is no label.
    """
    components = [part(fibres)] if fibres else []
    for name in ("lining", "filling", "coating"):
        if name in more:
            components.append(part(more.pop(name), name))
    label: dict[str, Any] = {"state": "missing"}
    if symbols is not None:
        label = {"state": "read", "symbols": symbols.split()}
    label |= more.pop("label", {})
    stains = [{"stain": stain} for stain in more.pop("stains", [])]
    facts = {"id": "t", "kind": "other", "colour": "white", "components": components}
    return facts | {"label": label, "stains": stains, "shop": SHOP} | more


def decided(facts: dict[str, Any]) -> Decision:
    """The typed decision on these facts."""
    return decide(parse_facts(facts))


def keys(decision: dict[str, Any], level: str | None = None) -> list[str]:
    """The caution keys of a decision, of one level or of all."""
    return [c["key"] for c in decision["cautions"] if level in (None, c["level"])]


def steps(decision: dict[str, Any]) -> list[str]:
    return [step["step"] for step in decision["steps"]]


def step(decision: dict[str, Any], name: str) -> dict[str, Any]:
    """The one step of that name; fails when there is none or more than one."""
    matches = [step for step in decision["steps"] if step["step"] == name]
    assert len(matches) == 1, f"{name} stands {len(matches)} times in {steps(decision)}"
    return matches[0]


def command(given: bytes, name: str = "-") -> subprocess.CompletedProcess[bytes]:
    """What `manage.py decide` answers to these bytes on standard input, or about a file."""
    words = [sys.executable, "manage.py", "decide", name]
    root = Path(__file__).parents[2]
    return subprocess.run(words, input=given, capture_output=True, cwd=root, check=False)
