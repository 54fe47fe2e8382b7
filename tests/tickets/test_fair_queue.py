"""The queue round each write serves its waiters in the order in which they came, and the write is
as short as can be."""

from __future__ import annotations

import gc
import threading
import time

import pytest

from tickets.writing import FairLock, atomic_write


def waiting(lock: FairLock, count: int) -> None:
    """Until so many wait."""
    give_up, pause = time.monotonic() + 10, threading.Event()
    while len(lock._waiting) < count:
        assert time.monotonic() < give_up
        pause.wait(0.001)  # a sleep can't be made under a shifted clock


class Visitor(threading.Thread):
    """Comes to the lock, notes its number once inside, and leaves when it is told to."""

    def __init__(self, lock: FairLock, number: int, served: list[int]) -> None:
        super().__init__(daemon=True)
        self.lock, self.number, self.served = lock, number, served
        self.inside, self.may_leave = threading.Event(), threading.Event()
        self.start()

    def run(self) -> None:
        self.lock.acquire()
        self.served.append(self.number)
        self.inside.set()
        self.may_leave.wait(timeout=10)
        self.lock.release()


def test_who_came_first_is_served_first_and_alone() -> None:
    lock, served = FairLock(), list[int]()
    visitors = [Visitor(lock, 0, served)]
    assert visitors[0].inside.wait(timeout=5)
    for number in range(1, 5):
        visitors.append(Visitor(lock, number, served))
        waiting(lock, number)
    for number, visitor in enumerate(visitors):
        assert visitor.inside.wait(timeout=5)
        assert served == list(range(number + 1))
        visitor.may_leave.set()
        visitor.join(timeout=5)


def test_a_newcomer_waits_while_the_lock_is_handed_on_and_finds_it_free_after() -> None:
    lock, served = FairLock(), list[int]()
    first = Visitor(lock, 0, served)
    assert first.inside.wait(timeout=5)
    second = Visitor(lock, 1, served)
    waiting(lock, 1)
    first.may_leave.set()
    assert second.inside.wait(timeout=5)
    newcomer = Visitor(lock, 2, served)
    waiting(lock, 1)
    assert served == [0, 1]
    for visitor in (second, newcomer):
        visitor.may_leave.set()
        visitor.join(timeout=5)
    late = Visitor(lock, 3, served)
    assert late.inside.wait(timeout=5)
    late.may_leave.set()
    assert served == [0, 1, 2, 3]


@pytest.mark.django_db
def test_no_garbage_is_collected_while_a_write_holds_the_lock() -> None:
    assert gc.isenabled()
    with atomic_write():
        assert not gc.isenabled()
        with atomic_write():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ValueError, match="half way"), atomic_write():
        raise ValueError("half way")
    assert gc.isenabled()


@pytest.mark.django_db
def test_a_write_leaves_a_collector_at_rest_as_it_was() -> None:
    gc.disable()
    try:
        with atomic_write():
            assert not gc.isenabled()
        assert not gc.isenabled()
    finally:
        gc.enable()
