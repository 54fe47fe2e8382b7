"""What the API says to do about an answer that is no success."""

from __future__ import annotations

import pytest
from rest_framework.test import APIClient

from counter.site.api_errors import _code_of, _cure_of


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (400, "one JSON value in UTF-8"),
        (401, "header Authorization"),
        (403, "Ask the owner for the role"),
        (404, "each ends with a slash"),
        (405, "methods of this address"),
        (406, "Ask for application/json"),
        (413, "Send less"),
        (415, "Send application/json"),
        (429, "Wait before"),
    ],
)
def test_each_status_has_its_own_cure(number: int, words: str) -> None:
    assert words in _cure_of(number, "")


def test_a_lost_page_token_is_told_apart_from_a_missing_role() -> None:
    assert "X-CSRFToken" in _cure_of(403, "CSRF Failed: token missing")
    assert "X-CSRFToken" not in _cure_of(401, "CSRF Failed")
    assert _cure_of(500, "") == ""


@pytest.mark.parametrize(
    ("number", "code"),
    [(400, "bad_request"), (403, "permission_denied"), (404, "not_found"), (500, "server_error"),
     (418, "error")],
)  # fmt: skip
def test_a_status_without_a_code_of_its_own_gets_one(number: int, code: str) -> None:
    assert _code_of(number) == code


def test_a_body_that_is_no_json_is_answered_with_its_cure(api_counter: APIClient) -> None:
    answer = api_counter.post("/api/v1/tickets/", data="{", content_type="application/json")
    assert answer.status_code == 400
    assert "Send one JSON value in UTF-8." in answer.content.decode()
