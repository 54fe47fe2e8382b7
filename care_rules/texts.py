"""Every text of the rule tables, for translators.

The sentences in the code are found by any extractor that knows ``gettext``; those of the tables
stand in data files, so they are listed here, in the template format of GNU gettext.
"""

from __future__ import annotations

from care_rules.rows import HEADINGS, PREFIX, WORDS, load_table
from care_rules.speech import gettext

_HEAD = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8\\n"\n'
_ESCAPES = str.maketrans({"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"})


def _spaced(key: str) -> str:
    return key.replace("_", " ")


def in_words(key: str) -> str:
    """A group, family, class or grade of the tables in the reader's language."""
    return gettext(_spaced(key))


def table_texts() -> dict[str, list[str]]:
    """Each text of the tables, with the keys of the rules that say it."""
    rows_of: dict[str, list[str]] = {}
    for name in PREFIX:
        for row in load_table(name).values():
            said = [row.cells.get(column, "") for column in WORDS]
            said += [text for _step, text in row.notes]
            said += [_spaced(row.cells.get(column, "")) for column in HEADINGS]
            if "name" not in row.cells:
                said.append(_spaced(row.bare))
            for text in dict.fromkeys(filter(None, said)):
                rows_of.setdefault(text, []).append(row.key)
    return rows_of


def template() -> str:
    """The texts as an empty catalogue: one entry for each, its rules named above it."""
    entries = [
        f'#. {", ".join(keys)}\nmsgid "{text.translate(_ESCAPES)}"\nmsgstr ""\n'
        for text, keys in table_texts().items()
    ]
    return "\n".join([_HEAD, *entries])
