"""Pages as a browser takes them: white space between and inside tags says nothing."""

from __future__ import annotations

import re


def flat(html: str) -> str:
    """The page on one line, with no space beside a tag and single ones elsewhere."""
    return re.sub(r" ?(<|>) ?", r"\1", " ".join(html.split()))
