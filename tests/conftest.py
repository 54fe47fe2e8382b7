"""Fixtures that more than one folder of tests uses."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import axe_playwright_python
import pytest
import time_machine
from django.contrib.auth.models import User
from hypothesis import settings
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from rest_framework.test import APIClient

from counter.owner.queries import forget_counts
from counter.roles import ROLES
from tests import building
from tests.chromium import CHROMIUM_ARGUMENTS, find_chromium
from tests.examples import QUICK
from tickets.choices import Station
from tickets.errors import Refused
from tickets.models import Load, Piece, Ticket
from tickets.promise.open_work import forget_open_work

AXE_SOURCE = Path(axe_playwright_python.__file__).with_name("axe.min.js")


WORKING_MOMENT = datetime(2026, 6, 16, 10, 11, tzinfo=ZoneInfo("Europe/London"))
"""A Tuesday morning in summer time, an hour from UTC, in the zone of the settings of the tests:
far from a full or half hour, opening, closing, a cut-off, a change of clocks and a holiday."""


@pytest.fixture(autouse=True)
def clock() -> Iterator[time_machine.Traveller]:
    """Holds the clock of the whole process, live server included, at an ordinary moment of work.

    It goes on from there. `clock.move_to(moment)` and `clock.shift(span)` go elsewhere. What
    measures time (`perf_counter`, `monotonic`) is left alone.
    """
    with time_machine.travel(WORKING_MOMENT) as traveller:
        yield traveller


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    """The open work and the counts that the test before had read are forgotten."""
    forget_open_work()
    forget_counts()


@pytest.fixture
def refusals(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The code of each refusal of the test so far: a page shows its words alone."""
    codes: list[str] = []
    first = Refused.__init__

    def note(refused: Refused, code: str, *said: Any, **more: Any) -> None:
        first(refused, code, *said, **more)
        codes.append(code)

    monkeypatch.setattr(Refused, "__init__", note)
    return codes


@pytest.fixture
def api_staff(db: Any) -> dict[str, User]:
    """One person of each role, and one who has none."""
    building.make_shop()
    people = {role: building.make_user(role) for role in ROLES}
    people["none"] = User.objects.create_user("test-none", password="pw")
    return people


@pytest.fixture
def api_of(api_staff: dict[str, User]) -> Callable[[str], APIClient]:
    """Signs a client of the API in as the person of a role; "" is nobody."""

    def sign_in(role: str) -> APIClient:
        client = APIClient()
        if role:
            client.force_login(api_staff[role])
        return client

    return sign_in


@pytest.fixture
def api_counter(api_of: Callable[[str], APIClient]) -> APIClient:
    return api_of("counter")


@pytest.fixture
def api_back(api_of: Callable[[str], APIClient]) -> APIClient:
    return api_of("backroom")


@pytest.fixture
def jumper_ticket(api_staff: dict[str, User]) -> Ticket:
    """A ticket of one wool jumper, opened by the counter."""
    return building.make_ticket(api_staff["counter"])


@pytest.fixture
def white_shirts(api_staff: dict[str, User]) -> list[Piece]:
    """Two white shirts that wait for a washer."""
    building.make_machine()
    shirts = building.make_ticket(api_staff["backroom"], [building.shirt(stains=[])] * 2).pieces
    return [
        building.work_until(piece, Station.WASH, api_staff["backroom"])
        for piece in shirts.order_by("position")
    ]


@pytest.fixture
def shirt_load(api_staff: dict[str, User], white_shirts: list[Piece]) -> Load:
    """A load being filled, with both white shirts."""
    return building.make_load(api_staff["backroom"], white_shirts)


def pytest_configure(config: pytest.Config) -> None:
    """Without the slow tests a property draws fewer examples (``tests/examples.py``)."""
    settings.register_profile(QUICK)
    if "not slow" in config.option.markexpr:
        settings.load_profile(QUICK)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever asks for a page is a browser test, whether or not its author marked it.

    The fixtures behind those of a test are listed too, and every page comes of the browser.
    """
    for item in items:
        if "browser" in getattr(item, "fixturenames", []):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for the whole run; skips without one, and fails without one under CI=true."""
    path = find_chromium()
    if path is None:
        reason = "No Chromium at hand: install one, or name its path in CHROMIUM_PATH."
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    # Playwright keeps an event loop on this thread; Django would refuse the database beside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with ExitStack() as stack:
        try:
            playwright = stack.enter_context(sync_playwright())
        except Exception as error:  # Playwright raises a bare one
            pytest.fail(
                f"Playwright's driver does not start: {error}. Debian's smallest system lacks a "
                "library that it needs: `apt install libatomic1`."
            )
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def page_at(
    browser: Browser, live_server: Any, request: pytest.FixtureRequest, tmp_path: Path
) -> Iterator[Callable[..., Page]]:
    """Opens fresh pages of a given width on the live server: `page_at(360)`, `page_at(800, 1100)`.

    Each page has cookies of its own. Other words go to the browser context, for example
    `color_scheme="dark"` or `java_script_enabled=False`. A script error on a page fails the test;
    a failed test leaves a picture of each page and says where.
    """
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def open_page(width: int, height: int = 800, **options: Any) -> Page:
        context = browser.new_context(
            base_url=live_server.url, viewport={"width": width, "height": height}, **options
        )
        context.set_default_timeout(10_000)
        context.on("weberror", lambda error: errors.append(str(error.error)))
        contexts.append(context)
        return context.new_page()

    yield open_page
    if getattr(request.node, "failed", False):
        for page in [page for context in contexts for page in context.pages]:
            picture = tmp_path / f"page-{len(list(tmp_path.glob('page-*.png'))) + 1}.png"
            page.screenshot(path=picture, full_page=True)
            print(f"{page.url} looked like {picture}")
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture
def page(page_at: Callable[..., Page]) -> Page:
    """A fresh page of 1280 by 800 on the live server; `page.goto("/")` opens the shop."""
    return page_at(1280)


@pytest.fixture
def axe() -> Callable[[Page], list[str]]:
    """Returns a check that lists what axe-core finds wrong on a page, one line for each rule.

    The rules are those of WCAG 2.2 A and AA. The script is evaluated, and not added as a tag,
    which the shop's content policy refuses.
    """

    def violations(page: Page) -> list[str]:
        if not page.evaluate("typeof axe !== 'undefined'"):
            page.evaluate(AXE_SOURCE.read_text(encoding="utf-8"))
        tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
        report = page.evaluate(
            "tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", tags
        )
        return [
            f"{rule['id']}: {rule['help']}: "
            + "; ".join(" ".join(map(str, node["target"])) for node in rule["nodes"])
            for rule in report["violations"]
        ]

    return violations


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Any:
    """Tells the fixtures of a test that it failed."""
    report = yield
    if report.when == "call":
        item.failed = report.failed  # type: ignore[attr-defined]
    return report
