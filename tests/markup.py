"""Pages as a browser takes them: white space between and inside tags says nothing."""

from __future__ import annotations

import re
from html import unescape


def flat(html: str) -> str:
    """The page on one line, with no space beside a tag and single ones elsewhere."""
    return re.sub(r" ?(<|>) ?", r"\1", " ".join(html.split()))


def text(html: bytes) -> str:
    """What a reader sees of a page, on one line: no tags, scripts, styles and titles."""
    bare = re.sub(r"<(script|style|title)\b.*?</\1>", "", html.decode(), flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", bare)).split())
