"""How each kind of deployment setting is read: words, switches, numbers, key and database."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from counter.site import environment

NAME, VARIABLE = "PROBE", "GARMENT_COUNTER_PROBE"


@pytest.mark.parametrize("default", [True, False])
@pytest.mark.parametrize(
    ("typed", "expected"),
    [("1", True), ("true", True), (" Yes ", True), ("ON", True),
     ("0", False), ("false", False), ("No", False), ("off", False), ("", False)],
)  # fmt: skip
def test_a_switch(
    typed: str, expected: bool, default: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, typed)
    assert environment.flag(NAME, default) is expected


@pytest.mark.parametrize("default", [True, False])
def test_a_switch_that_is_not_set(default: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    assert environment.flag(NAME, default) is default
    assert environment.flag(NAME) is False


def test_a_switch_that_is_neither_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "ture")
    with pytest.raises(ImproperlyConfigured, match=f"{VARIABLE} is 'ture': write yes or no"):
        environment.flag(NAME)


@pytest.mark.parametrize(
    ("typed", "default", "expected"),
    [
        ("a.example, b.example,, ", "", ["a.example", "b.example"]),
        ("", "x", []),
        (None, "x, y", ["x", "y"]),
        (None, "", []),
    ],
)
def test_a_list(
    typed: str | None, default: str, expected: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    if typed is not None:
        monkeypatch.setenv(VARIABLE, typed)
    assert environment.words(NAME, default) == expected


def test_a_whole_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    assert environment.whole_number(NAME, 7) == 7
    monkeypatch.setenv(VARIABLE, " 12 ")
    assert environment.whole_number(NAME, 7) == 12
    for typed in ("-1", "1.5", "many"):
        monkeypatch.setenv(VARIABLE, typed)
        with pytest.raises(ImproperlyConfigured, match="write a whole number"):
            environment.whole_number(NAME, 7)


def test_the_key_is_made_once_and_kept_for_its_owner_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("GARMENT_COUNTER_SECRET_KEY", raising=False)
    folder = tmp_path / "new" / "data"
    key = environment.secret_key(folder)
    assert len(key) >= 50
    assert environment.secret_key(folder) == key == (folder / "secret_key").read_text()
    assert stat.S_IMODE((folder / "secret_key").stat().st_mode) == 0o600
    assert environment.secret_key(tmp_path / "other") != key
    monkeypatch.setenv("GARMENT_COUNTER_SECRET_KEY", "given")
    assert environment.secret_key(folder) == "given"
    assert environment.secret_key(tmp_path / "none") == "given"
    assert not (tmp_path / "none").exists()


def test_without_an_address_the_shop_keeps_its_books_in_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    folder = tmp_path / "new" / "data"
    books = environment.database(folder)
    assert folder.is_dir()
    assert (books["ENGINE"], books["NAME"]) == (
        "django.db.backends.sqlite3",
        str(folder / "shop.sqlite3"),
    )
    assert books["CONN_MAX_AGE"] is None
    assert books["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert books["OPTIONS"]["timeout"] == 10


@pytest.mark.parametrize(
    ("address", "name"),
    [
        ("sqlite:///shop.db", "shop.db"),
        ("sqlite:////srv/my%20shop.db", "/srv/my shop.db"),
        ("sqlite://", ":memory:"),
    ],
)
def test_an_address_of_a_file(
    address: str, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DATABASE_URL", address)
    assert environment.database(tmp_path / "unused")["NAME"] == name
    assert not (tmp_path / "unused").exists()


@pytest.mark.parametrize("scheme", ["postgres", "postgresql"])
def test_an_address_of_a_server(scheme: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(
        "DATABASE_URL", f" {scheme}://a%40b:p%2Fw@db.example:5433/my%20shop?sslmode=require "
    )
    assert environment.database(Path("unused")) == {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": "my shop",
        "USER": "a@b",
        "PASSWORD": "p/w",
        "HOST": "db.example",
        "PORT": "5433",
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": {"sslmode": "require"},
    }
    monkeypatch.setenv("DATABASE_URL", f"{scheme}:///shop")
    books = environment.database(Path("unused"))
    parts = [books[name] for name in ("NAME", "USER", "PASSWORD", "HOST", "PORT")]
    assert parts == ["shop", "", "", "", ""]


def test_an_address_of_anything_else_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DATABASE_URL", "mysql://db.example/shop")
    with pytest.raises(ImproperlyConfigured, match="DATABASE_URL starts with 'mysql': use sqlite"):
        environment.database(Path("unused"))
