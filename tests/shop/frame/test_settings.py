"""The settings: a wrong variable stops the start and is named in a sentence."""

import json
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from environs import EnvError

from shop import settings as shop_settings

ROOT = Path(__file__).resolve().parents[3]
PRODUCTION = {
    "PULLPIN_MODE": "production",
    "SECRET_KEY": "0123456789" * 5,
    "ALLOWED_HOSTS": "shop.example,www.shop.example",
    "SHOP_URL": "https://shop.example/",
}


def check(var: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run `manage.py check` with these variables only."""
    return subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "PULLPIN_VAR": str(var), **variables},
        capture_output=True,
        text=True,
        check=False,
    )


def read(var: Path, *names: str, **variables: str) -> dict[str, object]:
    code = (
        "import json; import shop.settings as s; "
        f"print(json.dumps([getattr(s, name) for name in {names}]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "PULLPIN_VAR": str(var), **variables},
        capture_output=True,
        text=True,
        check=True,
    )
    return dict(zip(names, json.loads(done.stdout), strict=True))


@pytest.fixture
def refusal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., str]:
    """Return what reading the settings refuses with, given these variables only."""

    def read_with(**variables: str) -> str:
        monkeypatch.setattr(os, "environ", {"PULLPIN_VAR": str(tmp_path), **variables})
        with pytest.raises((EnvError, ImproperlyConfigured)) as caught:
            shop_settings._read()
        return str(caught.value)

    return read_with


@pytest.mark.parametrize("name", sorted(set(PRODUCTION) - {"PULLPIN_MODE"}))
def test_production_does_not_guess(refusal: Callable[..., str], name: str) -> None:
    given = {key: value for key, value in PRODUCTION.items() if key != name}

    assert refusal(**given) == f'Environment variable "{name}" not set'


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("PULLPIN_MODE", "big", "Must be one of: embedded, production."),
        ("PULLPIN_MAIL", "pigeon", "Must be one of: maildir, smtp."),
        ("DELIVER_SECONDS", "soon", "Not a valid integer."),
        ("DUE_TICK_SECONDS", "0", "Must be greater than or equal to 1."),
        ("SHOP_TIME_ZONE", "Larkfield", "must be a zone such as America/Denver"),
        ("SHOP_URL", "shop.example", "must be an address such as https://shop.example"),
        ("SHOP_EMAIL", "desk at shop", "Not a valid email address."),
        ("DEBUG", "perhaps", "Not a valid boolean."),
    ],
)
def test_a_wrong_value_is_named_in_a_sentence(
    refusal: Callable[..., str], name: str, value: str, sentence: str
) -> None:
    said = refusal(**{name: value})

    assert f'ariable "{name}"' in said
    assert sentence in said


def test_smtp_needs_a_host(refusal: Callable[..., str]) -> None:
    assert refusal(PULLPIN_MAIL="smtp") == 'Environment variable "SMTP_HOST" not set'


def test_a_command_prints_the_sentence_and_nothing_else(tmp_path: Path) -> None:
    done = check(tmp_path, PULLPIN_MODE="production")

    assert done.returncode == 1
    assert done.stderr.strip() == 'Environment variable "SHOP_URL" not set.'


def test_the_embedded_secret_key_is_made_once_and_private(tmp_path: Path) -> None:
    first = read(tmp_path, "SECRET_KEY")
    second = read(tmp_path, "SECRET_KEY")

    assert first == second
    assert len(str(first["SECRET_KEY"])) >= 50
    assert stat.S_IMODE((tmp_path / "secret_key").stat().st_mode) == 0o600
    assert [file.name for file in tmp_path.iterdir()] == ["secret_key"]


def test_https_makes_host_only_cookies_and_http_does_not(tmp_path: Path) -> None:
    names = ("SESSION_COOKIE_NAME", "SESSION_COOKIE_SECURE", "SECURE_SSL_REDIRECT", "DEBUG")

    assert read(tmp_path, *names, **PRODUCTION) == {
        "SESSION_COOKIE_NAME": "__Host-session",
        "SESSION_COOKIE_SECURE": True,
        "SECURE_SSL_REDIRECT": True,
        "DEBUG": False,
    }
    assert read(tmp_path, *names) == {
        "SESSION_COOKIE_NAME": "session",
        "SESSION_COOKIE_SECURE": False,
        "SECURE_SSL_REDIRECT": False,
        "DEBUG": False,
    }


def test_a_forwarded_scheme_is_believed_only_behind_a_proxy(tmp_path: Path) -> None:
    with pytest.raises(subprocess.CalledProcessError):
        read(tmp_path, "SECURE_PROXY_SSL_HEADER", **PRODUCTION)
    behind = read(tmp_path, "SECURE_PROXY_SSL_HEADER", **PRODUCTION, BEHIND_PROXY="1")

    assert behind == {"SECURE_PROXY_SSL_HEADER": ["HTTP_X_FORWARDED_PROTO", "https"]}


def test_the_database_follows_its_address(tmp_path: Path) -> None:
    given = read(tmp_path, "DATABASES", DATABASE_URL="postgres://ann:pw@db.example:5433/shop")

    database = given["DATABASES"]["default"]
    assert (database["ENGINE"], database["HOST"], database["PORT"], database["NAME"]) == (
        "django.db.backends.postgresql",
        "db.example",
        5433,
        "shop",
    )
    assert database["CONN_MAX_AGE"] == 600
    assert "transaction_mode" not in database.get("OPTIONS", {})


@pytest.mark.parametrize(("given", "keys"), [("", []), ("old-1,old-2", ["old-1", "old-2"])])
def test_former_keys_may_be_left_empty(tmp_path: Path, given: str, keys: list[str]) -> None:
    """A compose file hands over an empty text for what was left out."""
    found = read(tmp_path, "SECRET_KEY_FALLBACKS", SECRET_KEY_FALLBACKS=given)
    assert found == {"SECRET_KEY_FALLBACKS": keys}
