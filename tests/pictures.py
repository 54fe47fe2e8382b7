"""Takes the pictures of README.md from a running demo: ``python -m tests.pictures``.

Starts the demo on a scratch database and a free port, signs in as each of the three users and
saves the screens to ``.pictures/``. Papers are rasterised from the PDF that the shop prints.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import date, datetime, timedelta
from pathlib import Path

import pypdfium2
from playwright.sync_api import Browser, Page, sync_playwright

from tests.chromium import CHROMIUM_ARGUMENTS, find_chromium

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / ".pictures"
PASSWORD = "linen-and-thread"  # the demo prints it


def main() -> None:
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        port = _free_port()
        environment = {**os.environ, "GARMENT_COUNTER_DATA_DIR": folder}
        environment.pop("DATABASE_URL", None)
        server = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(port)], cwd=ROOT, env=environment
        )
        try:
            base = f"http://127.0.0.1:{port}"
            _wait_for(base)
            with sync_playwright() as play:
                browser = play.chromium.launch(
                    executable_path=find_chromium(), args=CHROMIUM_ARGUMENTS
                )
                _take(browser, base)
                browser.close()
        finally:
            server.terminate()
            server.wait(10)


def _take(browser: Browser, base: str) -> None:
    rosa = _signed_in(browser, base, "rosa", 1280, 900)
    rosa.goto(f"{base}/desk/?q=brook")
    rosa.screenshot(path=OUT / "counter.png")
    intake = _example_intake(rosa, base)
    intake.screenshot(path=OUT / "intake.png")
    imre = _signed_in(browser, base, "imre", 800, 1100)
    imre.goto(f"{base}/boards/wash/")
    imre.screenshot(path=OUT / "board.png")
    tilda = _signed_in(browser, base, "tilda", 1280, 1000, dark=True)
    tilda.goto(f"{base}/owner/?day={_full_day():%Y-%m-%d}")
    tilda.screenshot(path=OUT / "day.png")
    imre.set_viewport_size({"width": 1280, "height": 800})
    imre.goto(f"{base}/plan/")
    imre.screenshot(path=OUT / "plan.png")
    _tag_picture(rosa, base)


def _full_day() -> date:
    """Today, or in the night and morning the day before: an empty day shows nothing."""
    now = datetime.now()
    return now.date() if now.hour >= 14 else now.date() - timedelta(days=1)


def _example_intake(page: Page, base: str) -> Page:
    """A white shirt with red wine on the intake page, the decision beside it."""
    page.goto(f"{base}/desk/?q=brook")
    page.get_by_role("button", name="Take in").first.click()
    page.get_by_role("button", name="First piece").click()
    for group, answer in (
        ("kind", "cotton shirt"),
        ("colour", "White"),
        ("construction", "Woven"),
        ("label", "Read"),
        ("stains", "Listed"),
    ):
        page.locator(f"#group-{group}").get_by_role("radio", name=answer, exact=True).check()
    for service in ("Clean", "Press"):
        asked = page.locator("#group-services").get_by_role("checkbox", name=service, exact=True)
        asked.check()
    page.get_by_role("button", name="100 % cotton", exact=True).click()
    page.locator("#pick-stains").get_by_role("checkbox", name="red wine", exact=True).check()
    for group, value in (("wash", "wash_60"), ("bleach", "bleach_any"), ("iron", "iron_200")):
        page.locator(f"#strip-{group}").check()
        page.locator(f"input[name=symbol-{group}][value={value}]").check()
    page.locator(".bar .process").wait_for()
    page.wait_for_timeout(1500)
    page.reload()  # what is answered folds
    return page


def _tag_picture(page: Page, base: str) -> None:
    page.goto(f"{base}/tickets/1000001/")
    token = page.locator("input[name=csrfmiddlewaretoken]").first.get_attribute("value") or ""
    answer = page.request.post(
        f"{base}/tickets/1000001/tags.pdf",
        form={"csrfmiddlewaretoken": token, "size": "roll-62"},
        headers={"Referer": base},
    )
    document = pypdfium2.PdfDocument(answer.body())
    document[0].render(scale=4).to_pil().save(OUT / "tag.png")


def _signed_in(
    browser: Browser, base: str, name: str, width: int, height: int, *, dark: bool = False
) -> Page:
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light"
    )
    page = context.new_page()
    page.goto(f"{base}/login/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", PASSWORD)
    page.click("main button")
    return page


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(base: str) -> None:
    for _ in range(240):
        try:
            urllib.request.urlopen(f"{base}/login/", timeout=1)  # noqa: S310 - loopback
        except OSError:
            time.sleep(0.5)
        else:
            return
    raise SystemExit(f"The demo did not answer at {base} within two minutes.")


if __name__ == "__main__":
    main()
