"""Long listings that a person has looked at once, and that must not change unseen."""

from __future__ import annotations

import difflib
import tempfile
from collections.abc import Iterable
from pathlib import Path


def assert_approved(lines: Iterable[str], approved: Path) -> None:
    """Fails with the difference where these lines are not those of the approved file.

    The new listing is kept outside the project: whoever has looked at what changed, and wants it
    so, copies it over the approved one.
    """
    listing = [*lines]
    known = approved.read_text(encoding="utf-8").splitlines() if approved.exists() else []
    if listing == known:
        return
    fresh = Path(tempfile.mkdtemp(prefix="approved-")) / approved.name
    fresh.write_text("".join(f"{line}\n" for line in listing), encoding="utf-8")
    changes = [*difflib.unified_diff(known, listing, "approved", "now", lineterm="", n=0)][:40]
    raise AssertionError(
        "\n".join([f"Look at it; if it is right: cp {fresh} {approved}", *changes])
    )
