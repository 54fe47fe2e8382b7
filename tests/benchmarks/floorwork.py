"""The pieces that a benchmark scans: each as it stands in the database now, and where it goes."""

from __future__ import annotations

import sqlite3
from collections import deque
from dataclasses import dataclass
from pathlib import Path

_WAITING = """
SELECT piece.id, piece.code FROM tickets_piece AS piece
WHERE piece.state = 'waiting'
  AND piece.id NOT IN (SELECT piece_id FROM tickets_loadpiece WHERE left_at IS NULL)
  AND piece.id NOT IN (SELECT piece_id FROM tickets_routestep WHERE step = 'wet_check')
ORDER BY piece.id DESC LIMIT ?
"""
"""Pieces that a scan moves at once: in no load, and with nothing to be asked about."""

_NEXT = """
SELECT station FROM tickets_routestep WHERE piece_id = ? AND done_at IS NULL
ORDER BY "order" LIMIT 1
"""
_FIRST = 'SELECT station FROM tickets_routestep WHERE piece_id = ? ORDER BY "order" LIMIT 1'


@dataclass(frozen=True)
class Scannable:
    """A piece in hand. ``station`` is empty once its route is done: it is sent back to ``first``
    before it can be scanned again."""

    code: str
    station: str
    first: str


class Pieces:
    """Open pieces taken round and round, so that each scan moves another one."""

    def __init__(self, path: Path, most: int) -> None:
        self.database = sqlite3.connect(f"file:{path}?mode=ro", uri=True, isolation_level=None)
        self.line = deque(self.database.execute(_WAITING, (most,)).fetchall())

    def next(self) -> Scannable:
        self.line.rotate(-1)
        pk, code = self.line[0]
        upcoming = self.database.execute(_NEXT, (pk,)).fetchone()
        first = self.database.execute(_FIRST, (pk,)).fetchone()
        return Scannable(code, upcoming[0] if upcoming else "", first[0])

    def busiest_station(self) -> str:
        station: str = self.database.execute(
            "SELECT station FROM tickets_piece WHERE state = 'waiting' AND station IN "
            "('press', 'check', 'wash', 'dry') GROUP BY station ORDER BY count(*) DESC LIMIT 1"
        ).fetchone()[0]
        return station

    def close(self) -> None:
        self.database.close()
