"""The two gates in front of every page: the content policy, and the way to the sign-in page."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from tests import building

POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)


@pytest.fixture
def owner(db: Any) -> Client:
    building.make_shop()
    client = Client(raise_request_exception=False)
    client.force_login(building.make_user("owner"))
    return client


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/login/", 200),
        ("/", 302),
        ("/switch/", 200),
        ("/nowhere/", 404),
        ("/logout/", 405),
        ("/static/counter/base.css", 200),
        ("/static/counter/mark.svg", 200),
        ("/api/v1/boards/", 200),
        ("/api/v1/nowhere/", 404),
    ],
)
def test_every_kind_of_answer_carries_the_content_policy(
    owner: Client, path: str, status: int
) -> None:
    if path == "/login/":
        owner.logout()
    response = owner.get(path)
    assert response.status_code == status
    assert response["Content-Security-Policy"] == POLICY


def test_a_crash_carries_the_content_policy_too(owner: Client, monkeypatch: Any) -> None:
    monkeypatch.setattr("counter.staff.views.colleagues", lambda: 1 / 0)
    response = owner.get("/switch/")
    assert response.status_code == 500
    assert response["Content-Security-Policy"] == POLICY


def test_a_page_holds_nothing_that_the_policy_would_stop(owner: Client) -> None:
    for path in ("/switch/", "/desk/"):
        html = owner.get(path).content.decode()
        assert re.findall(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+=", html) == []


def test_signed_out_a_page_leads_to_sign_in_and_back(db: None) -> None:
    response = Client().get("/desk/?q=brook")
    assert (response.status_code, response["Location"]) == (302, "/login/?next=/desk/%3Fq%3Dbrook")


def test_signed_out_a_fragment_sends_the_whole_page_to_sign_in(db: None) -> None:
    response = Client().get(
        "/desk/",
        headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/boards/wash/?page=2"},
    )
    assert response.status_code == 204
    assert response["HX-Redirect"] == "/login/?next=/boards/wash/%3Fpage%3D2"
    assert response.content == b""


def test_signed_out_a_form_leads_back_to_its_page_and_not_to_the_form_s_address(db: None) -> None:
    response = Client().post(
        "/boards/wash/scan/", headers={"Referer": "http://testserver/boards/wash/"}
    )
    assert response["Location"] == "/login/?next=/boards/wash/"


@pytest.mark.parametrize(
    "before", ["http://evil.example.org/x", "//evil.example.org", "", "javascript:alert(1)"]
)
def test_the_way_back_never_leaves_the_shop(db: None, before: str) -> None:
    answers = [
        Client().post("/boards/wash/scan/", headers={"Referer": before})["Location"],
        Client().get("/desk/", headers={"HX-Request": "true", "HX-Current-URL": before})[
            "HX-Redirect"
        ],
    ]
    assert answers == ["/login/?next=/"] * 2


def test_a_person_of_another_room_gets_a_page_that_says_so(db: None) -> None:
    client = Client()
    client.force_login(building.make_user("backroom"))
    response = client.get("/owner/")
    assert response.status_code == 403
    assert "counter/site/not_allowed.html" in [template.name for template in response.templates]


def test_no_page_is_kept_by_the_browser_but_the_answer_to_a_form(owner: Client) -> None:
    refused = owner.post("/customers/new/", {"name": ""})
    assert (refused.status_code, refused.get("Cache-Control")) == (422, None)
    for path in ("/desk/", "/boards/", "/owner/", "/nowhere/"):
        assert "no-store" in owner.get(path)["Cache-Control"], path


@pytest.mark.parametrize(
    ("path", "above"),
    [
        ("/pieces/1000001016/hold/", "/pieces/1000001016/"),
        ("/pickup/1000001/done/", "/pickup/1000001/"),
        ("/boards/wash/scan/", "/boards/wash/"),
        (
            "/intake/7b0c1f5e-1c1a-4b43-8d2b-0f2d8f1f3a10/pieces/add/",
            "/intake/7b0c1f5e-1c1a-4b43-8d2b-0f2d8f1f3a10/",
        ),
        ("/logout/", "/"),
    ],
)
def test_the_address_of_a_form_leads_to_its_page(owner: Client, path: str, above: str) -> None:
    """As after a refused form, a sign-in leads back to the address the form was sent to."""
    page = owner.get(path)
    assert (page.status_code, "POST" in page["Allow"]) == (405, True)
    assert f'<a class="act" href="{above}">' in page.content.decode()
