"""The other end of the wire in a benchmark: a kept connection that asks and is timed."""

from __future__ import annotations

import http.client
import json
import re
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import urlencode

_FORM = "application/x-www-form-urlencoded"


@dataclass(frozen=True)
class Answer:
    """One answer, and the milliseconds from the first byte sent to the last one read."""

    status: int
    body: bytes
    ms: float

    @property
    def json(self) -> Any:
        return json.loads(self.body)


class Till:
    """One kept connection to the server, with the cookies of a browser."""

    def __init__(self, port: int) -> None:
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.cookies: dict[str, str] = {}
        self.token = self.mark = ""

    def ask(
        self, method: str, path: str, body: bytes = b"", headers: Mapping[str, str] | None = None
    ) -> Answer:
        sent = dict(headers or {})
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        started = time.perf_counter()
        self.line.request(method, path, body or None, sent)
        response = self.line.getresponse()
        read = response.read()
        ms = (time.perf_counter() - started) * 1000
        for cookie in response.headers.get_all("Set-Cookie", ()):
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(cookie).items()}
        return Answer(response.status, read, ms)

    def sign_in(self, name: str, password: str) -> None:
        """Sign in to the pages."""
        page = self.ask("GET", "/login/").body
        mark = re.search(rb'name="csrfmiddlewaretoken" value="([^"]+)"', page)
        assert mark is not None, page
        self.mark = mark[1].decode()
        signed_in = self.post_form("/login/", username=name, password=password)
        assert signed_in.status == 302, signed_in
        self.mark = self.cookies["csrftoken"]

    def take_token(self, name: str, password: str) -> None:
        """Sign in to the API."""
        given = self.post_json("/api/v1/token/", {"username": name, "password": password})
        assert given.status == 200, given
        self.token = given.json["token"]

    def post_json(self, path: str, sent: Mapping[str, Any]) -> Answer:
        headers = {"Content-Type": "application/json"}
        if self.token:
            headers["Authorization"] = f"Token {self.token}"
        return self.ask("POST", path, json.dumps(sent).encode(), headers)

    def post_form(self, path: str, **fields: str) -> Answer:
        """As htmx sends the form of a page."""
        headers = {"Content-Type": _FORM, "HX-Request": "true", "X-CSRFToken": self.mark}
        return self.ask("POST", path, urlencode(fields).encode(), headers)

    def close(self) -> None:
        self.line.close()


def fresh_key() -> str:
    return str(uuid.uuid4())
