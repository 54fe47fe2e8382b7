"""Pages travel light: what a browser with an empty cache is sent, counted at a real server."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from contextlib import suppress
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from threading import Thread
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from django.contrib.auth.models import User
from django.core.wsgi import get_wsgi_application
from django.test import Client, override_settings
from waitress import create_server

from counter.demo.services import load_demo
from counter.site import static_files
from tests import building
from tests.browser.test_pages import addresses, draft_of_a_jumper

MOST_BYTES = 120_000
"""Page, styles, scripts, drawings and fonts, heads of the answers aside; photos do not count."""

MOST_BYTES_OF_STYLE = 16_000
"""Style sheets of a first paint, as sent, and all of the project packed together."""

ROOT = Path(__file__).resolve().parents[3]

KEPT_FOR_GOOD = "max-age=315360000, public, immutable"


class Visitor:
    """A browser of the shop's owner that keeps nothing between two calls of `first_visit`."""

    def __init__(self, port: int) -> None:
        self.port, self.cookie = port, ""

    def sign_in(self, owner: User) -> None:
        client = Client()
        client.force_login(owner)
        self.cookie = client.cookies.output(attrs=[], header="", sep=";").strip()

    def get(self, address: str) -> tuple[HTTPResponse, bytes]:
        """The answer's head, and its body as it was sent."""
        connection = HTTPConnection("127.0.0.1", self.port)
        headers = {"Cookie": self.cookie, "Accept-Encoding": "gzip, deflate, br"}
        connection.request("GET", address, headers=headers)
        response = connection.getresponse()
        body = response.read()
        connection.close()
        return response, body

    def first_visit(self, address: str) -> dict[str, int]:
        """Bytes sent for a page and for all that it names, by address.

        Every font of the styles counts, though a browser asks only for those whose letters stand
        on the page.
        """
        sizes: dict[str, int] = {}
        open_addresses = [address]
        while open_addresses:
            path = open_addresses.pop()
            if path in sizes:
                continue
            response, body = self.get(path)
            assert response.status in (200, 302), path
            sizes[path] = len(body)
            if response.status == 302:
                open_addresses.append(response.headers["Location"])
            kind = response.headers["Content-Type"]
            if kind.startswith(("text/html", "text/css")):
                names = named(unpacked(response, body), is_page="html" in kind)
                open_addresses += [urlsplit(urljoin(path, name)).path for name in names]
        return sizes


def unpacked(response: HTTPResponse, body: bytes) -> str:
    packed = response.headers["Content-Encoding"] == "gzip"
    return (gzip.decompress(body) if packed else body).decode()


def named(text: str, *, is_page: bool) -> list[str]:
    """The files that a page or a style sheet makes the browser ask for; photos left out."""
    if not is_page:
        return re.findall(r"url\([\"']?([^\"')]+)", text)
    links = r"<link [^>]*href=\"([^\"]+)|<script [^>]*src=\"([^\"]+)|<use href=\"([^\"#]+)"
    return [name for match in re.findall(links, text) for name in match if name]


def bytes_of_style(sizes: dict[str, int]) -> int:
    return sum(size for path, size in sizes.items() if path.endswith(".css"))


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The files as `serve` collects them."""
    root = tmp_path_factory.mktemp("static")
    with override_settings(STATIC_ROOT=str(root), WHITENOISE_AUTOREFRESH=False):
        static_files.collect()
        yield


@pytest.fixture
def visitor(collected: None, transactional_db: Any) -> Iterator[Visitor]:
    """Stands at the shop as `serve` runs it, with waitress in front; signed in as nobody yet."""
    server = create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=2)
    thread = Thread(target=server.run)
    thread.start()
    yield Visitor(int(server.effective_port))
    # In its own thread, since the loop looks at its socket; the loop may close it before the bell.
    with suppress(OSError):
        server.trigger.pull_trigger(server.close)
    thread.join(timeout=10)
    server.task_dispatcher.shutdown()


@pytest.fixture
def owner_visits(visitor: Visitor) -> Visitor:
    building.make_shop()
    visitor.sign_in(building.make_user("owner"))
    return visitor


def test_what_a_page_names_is_compressed_named_by_content_and_kept_for_good(
    owner_visits: Visitor,
) -> None:
    sizes = owner_visits.first_visit("/desk/")
    files = [path for path in sizes if path.startswith("/static/")]
    assert len(files) == len(sizes) - 1 > 8
    for path in files:
        response, _ = owner_visits.get(path)
        assert re.fullmatch(r"/static/[\w/.-]+\.[0-9a-f]{12}\.\w+", path), path
        assert response.headers["Cache-Control"] == KEPT_FOR_GOOD, path
        is_packed = response.headers["Content-Encoding"] == "gzip"
        assert is_packed is not path.endswith(".woff2"), path


def test_a_page_and_an_answer_of_the_api_travel_compressed(owner_visits: Visitor) -> None:
    for address in ("/desk/", "/boards/", "/api/v1/boards/", "/api/v1/schema/"):
        response, body = owner_visits.get(address)
        assert response.headers["Content-Encoding"] == "gzip", address
        assert "Accept-Encoding" in response.headers["Vary"], address
        assert len(body) < 0.6 * len(unpacked(response, body)), address


def test_no_secret_stands_twice_the_same_in_a_compressed_page(owner_visits: Visitor) -> None:
    """Else its length would betray it letter by letter (BREACH, CVE-2013-3587)."""
    pages = [unpacked(*owner_visits.get("/desk/")) for _ in range(2)]
    tokens = [set(re.findall(r"[A-Za-z0-9]{64}", page)) for page in pages]
    assert all(tokens)
    assert tokens[0] & tokens[1] == set()
    assert len({len(owner_visits.get("/desk/")[1]) for _ in range(12)}) > 1


def test_an_ordinary_page_is_light_on_a_first_visit(owner_visits: Visitor) -> None:
    pages = [
        "/desk/",
        "/boards/",
        "/owner/",
        "/care/",
        "/shop/",
        "/plan/",
        "/pickup/",
        "/care/try/",
    ]
    visits = {page: owner_visits.first_visit(page) for page in pages}
    sums = {page: sum(sizes.values()) for page, sizes in visits.items()}
    assert {page: size for page, size in sums.items() if size >= MOST_BYTES} == {}
    styles = {page: bytes_of_style(sizes) for page, sizes in visits.items()}
    assert min(styles.values()) > 5_000
    assert {page: size for page, size in styles.items() if size >= MOST_BYTES_OF_STYLE} == {}


def test_all_style_sheets_packed_together_are_light() -> None:
    """One stream as `cat *.css | gzip -9` makes it; repeats in two sheets count once there."""
    sheets = [
        path
        for room in ("counter", "tickets")
        for path in sorted((ROOT / room / "static" / room).glob("*.css"))
    ]
    assert len(sheets) > 10
    packed = gzip.compress(b"".join(path.read_bytes() for path in sheets), 9)
    assert 5_000 < len(packed) < MOST_BYTES_OF_STYLE


@pytest.mark.slow
def test_every_page_of_a_busy_shop_is_light_on_a_first_visit(visitor: Visitor) -> None:
    load_demo()
    owner = User.objects.get(username="tilda")
    draft_of_a_jumper(owner)
    visitor.sign_in(owner)
    visits = {path: visitor.first_visit(path) for _name, path in addresses()}
    sums = {path: sum(sizes.values()) for path, sizes in visits.items()}
    assert len(sums) > 70
    assert {path: size for path, size in sums.items() if size >= MOST_BYTES} == {}
    styles = {path: bytes_of_style(sizes) for path, sizes in visits.items()}
    assert {path: size for path, size in styles.items() if size >= MOST_BYTES_OF_STYLE} == {}
