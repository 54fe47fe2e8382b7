"""What the deployment settings accept, and how a refusal names the variable and the cure."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from counter.site import environment
from counter.site.environment import shop_language
from tests.test_project import run


@pytest.fixture
def catalogues(tmp_path: Path) -> Path:
    """A folder with German and Brazilian catalogues, and a Welsh one that nobody compiled."""
    for name, file in (("de", "django.mo"), ("pt_BR", "django.mo"), ("cy", "django.po")):
        folder = tmp_path / name / "LC_MESSAGES"
        folder.mkdir(parents=True)
        (folder / file).touch()
    return tmp_path


def test_the_shop_speaks_english_and_what_has_a_compiled_catalogue(catalogues: Path) -> None:
    assert environment.translated([catalogues]) == [
        ("en", "English"),
        ("de", "Deutsch"),
        ("pt-br", "Português Brasileiro"),
    ]
    assert environment.translated([catalogues / "missing"]) == [("en", "English")]


@pytest.mark.parametrize(
    ("typed", "code"),
    [(None, "en"), ("", "en"), ("EN", "en"), ("de", "de"), ("pt_BR", "pt-br"), ("pt-br", "pt-br")],
)
def test_a_language_that_is_translated_is_accepted(
    typed: str | None, code: str, catalogues: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if typed is None:
        monkeypatch.delenv("GARMENT_COUNTER_LANGUAGE", raising=False)
    else:
        monkeypatch.setenv("GARMENT_COUNTER_LANGUAGE", typed)
    assert shop_language("LANGUAGE", environment.translated([catalogues])) == code


def test_another_english_is_a_language_like_any(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "en_US" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "django.mo").touch()
    monkeypatch.setenv("GARMENT_COUNTER_LANGUAGE", "en_US")
    assert shop_language("LANGUAGE", environment.translated([tmp_path])) == "en-us"


@pytest.mark.parametrize("typed", ["cy", "english", "xx", "de-at", "../de"])
def test_a_language_that_is_not_translated_is_refused_with_those_that_are(
    typed: str, catalogues: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GARMENT_COUNTER_LANGUAGE", typed)
    with pytest.raises(ImproperlyConfigured) as no:
        shop_language("LANGUAGE", environment.translated([catalogues]))
    assert str(no.value) == (
        f"GARMENT_COUNTER_LANGUAGE is {typed!r}, and the shop is not translated into that: "
        "write en or de or pt-br."
    )


@pytest.mark.parametrize("typed", ["America/New_York", "UTC", " Asia/Kolkata "])
def test_a_zone_of_the_database_is_accepted(typed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GARMENT_COUNTER_TIME_ZONE", typed)
    assert environment.time_zone("TIME_ZONE", "Europe/London") == typed.strip()


@pytest.mark.parametrize(
    ("typed", "instead"),
    [
        ("Europe/Pariss", "Europe/Paris"),
        ("Mars/Olympus_Mons", "Europe/London"),
        ("Europe", "Europe/Rome"),
        ("/etc/passwd", "Europe/London"),
        ("../UTC", "UTC"),
    ],
)
def test_a_zone_that_does_not_exist_is_refused_with_one_that_does(
    typed: str, instead: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GARMENT_COUNTER_TIME_ZONE", typed)
    with pytest.raises(ImproperlyConfigured) as no:
        environment.time_zone("TIME_ZONE", "Europe/London")
    assert str(no.value).startswith(
        f"GARMENT_COUNTER_TIME_ZONE is {typed!r}, which is no time zone: write a continent and a "
        f"city as the time zone database spells them, for example {instead}"
    )


@pytest.mark.parametrize(
    ("name", "typed"), [("LANGUAGE", "xx"), ("TIME_ZONE", "Europe/Pariss"), ("ADMIN", "ture")]
)
def test_a_wrong_word_stops_the_start(name: str, typed: str, tmp_path: Path) -> None:
    variable = f"GARMENT_COUNTER_{name}"
    code, output = run(
        "manage.py", "check", GARMENT_COUNTER_DATA_DIR=str(tmp_path), **{variable: typed}
    )
    assert code != 0
    assert f"ImproperlyConfigured: {variable} is {typed!r}" in output.splitlines()[-1]
