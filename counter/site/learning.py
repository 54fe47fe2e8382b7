"""Beside a server the promises' margin is learned: at its start, at night, and once the crews,
hours, machines or partners have changed.

It is learned in a process of its own, so that no request shares its processor time with it.
"""

from __future__ import annotations

import logging
import subprocess
import sys
import threading
from collections.abc import Sequence

from django.conf import settings
from django.db import connection
from django.utils import timezone

from tickets.promise.queries import learning_is_due

LOOK_EVERY = 60.0
"""Seconds between two looks whether there is anything to learn."""

_log = logging.getLogger(__name__)


def learning_command() -> Sequence[str]:
    return [sys.executable, str(settings.BASE_DIR / "manage.py"), "learn", "--beside-a-server"]


def learn_where_due() -> bool:
    """Learn in another process where that is due; the fault of one that fails is logged. Two
    queries where it is not."""
    if not learning_is_due(timezone.now()):
        return False
    # Its input stays open as long as this process lives: it tells the learner when to give up.
    with subprocess.Popen(
        learning_command(),
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    ) as learner:
        assert learner.stderr is not None  # it is a pipe
        fault = learner.stderr.read()
        if learner.wait():
            _log.error("The margin was not learned: %s", fault.strip())
    return True


def keep_learning(stop: threading.Event) -> None:
    """Until ``stop`` is set, look each minute. A fault of the database ends one look alone."""
    while True:
        try:
            learn_where_due()
        except Exception:
            _log.exception("Whether the margin is to be learned could not be looked up.")
        connection.close()
        if stop.wait(LOOK_EVERY):
            return


def start_learning() -> threading.Event:
    """Begin to look; set the event to stop."""
    stop = threading.Event()
    threading.Thread(target=keep_learning, args=(stop,), name="learning", daemon=True).start()
    return stop
