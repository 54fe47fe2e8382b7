"""Which Chromium the browser tests and the pictures drive, and with which words."""

from __future__ import annotations

import os
import shutil

CHROMIUM_NAMES = ["chromium", "chromium-browser", "google-chrome", "chrome", "msedge"]


CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def find_chromium() -> str | None:
    """The browser named by CHROMIUM_PATH, else the first one on the search path."""
    named = os.environ.get("CHROMIUM_PATH")
    if named:
        return named
    return next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
