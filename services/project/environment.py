"""Readers of environment variables; a wrong value stops the start with a sentence."""

import os
import re
import secrets
from pathlib import Path
from urllib.parse import parse_qsl, unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured

SERVER = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]{1,5})?(/[A-Za-z0-9._~-]+)*")
YES = {"on", "yes", "true", "1"}
NO = {"off", "no", "false", "0"}


class WrongSetting(ImproperlyConfigured):
    """An environment variable holds something that cannot be meant."""


def text(name: str, default: str = "") -> str:
    """Return a variable without the blanks around it, or the default when it is empty."""
    return os.environ.get(name, "").strip() or default


def switch(name: str, default: bool = False) -> bool:
    """Return whether a variable is on; on, yes, true and 1 are, off, no, false and 0 are not."""
    word = text(name, "on" if default else "off").lower()
    if word not in YES | NO:
        raise WrongSetting(f"{name} is {word!r}; it can be on or off.")
    return word in YES


def whole_number(name: str, default: int, least: int = 0) -> int:
    """Return a variable as a whole number that is not below the least."""
    word = text(name, str(default))
    if not word.isdecimal() or int(word) < least:
        raise WrongSetting(f"{name} is {word!r}; it must be a whole number from {least} up.")
    return int(word)


def words(name: str, default: str = "") -> list[str]:
    """Return the parts of a variable that holds several, parted by commas."""
    return [part.strip() for part in text(name, default).split(",") if part.strip()]


def one_of(name: str, choices: tuple[str, ...], default: str) -> str:
    """Return a variable that has to be one of a few words."""
    word = text(name, default)
    if word not in choices:
        raise WrongSetting(f"{name} is {word!r}; it can be {', '.join(choices)}.")
    return word


def contact(name: str, *, is_needed: bool) -> str:
    """Return whom a service abroad can ask, on one line of plain signs that a header may hold."""
    word = text(name)
    if (is_needed and not word) or not (word.isascii() and word.isprintable()):
        raise WrongSetting(f"{name} is {word!r}; it must be an email address or a web page.")
    return word


def secret(name: str, default: str = "") -> str:
    """Return a secret from a variable, or from the file that its twin ending in _FILE names."""
    path = text(f"{name}_FILE")
    if not path:
        return text(name, default)
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except OSError as error:
        raise WrongSetting(f"{name}_FILE names {path}, which cannot be read: {error}.") from error


def address(name: str, schemes: tuple[str, ...], default: str = "") -> str:
    """Return an address that begins with one of the schemes, or the default."""
    word = secret(name) or default
    if word and urlsplit(word).scheme not in schemes:
        raise WrongSetting(f"{name} must begin with one of {', '.join(schemes)}, each with ://.")
    return word


def server(name: str) -> str:
    """Return the address of a server of one's own, or nothing; its host and port must be told."""
    word = text(name).rstrip("/")
    if word and not SERVER.fullmatch(word):
        raise WrongSetting(f"{name} is {word!r}; it must be such as http://roads:5000.")
    return word


def servers(name: str) -> list[str]:
    """Return the addresses of several servers, parted by commas; host and port must be told."""
    told = [word.rstrip("/") for word in words(name)]
    wrong = [word for word in told if not SERVER.fullmatch(word)]
    if wrong:
        raise WrongSetting(f"{name} names {wrong[0]!r}; each must be such as http://host:5000.")
    return told


def folder(name: str, default: Path) -> Path:
    """Return a folder that can be written to, made when it is missing."""
    path = Path(text(name, str(default))).expanduser().resolve()
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise WrongSetting(f"{name} is {path}, which cannot be made: {error}.") from error
    if not os.access(path, os.W_OK):
        raise WrongSetting(f"{name} is {path}, which cannot be written to.")
    return path


def kept_secret(path: Path) -> str:
    """Return the secret that a file holds, making the file, for its owner only, when missing."""
    if not path.exists():
        draft = path.with_name(f"{path.name}.{os.getpid()}.{secrets.token_hex(4)}")
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
        _put_unless_there(draft, path)
    return path.read_text(encoding="utf-8").strip()


def _put_unless_there(draft: Path, path: Path) -> None:
    # Two processes may start at once: a link, unlike a rename, never replaces the other's file.
    try:
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()


def postgres(url: str) -> dict[str, object] | None:
    """Return Django's settings for PostgreSQL from DATABASE_URL or PGHOST and its kin.

    None when neither is set: then the business runs on SQLite.
    """
    if not url and not text("PGHOST"):
        return None
    parts = urlsplit(url)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "HOST": unquote(parts.hostname or "") or text("PGHOST"),
        "PORT": str(parts.port or text("PGPORT", "5432")),
        "NAME": unquote(parts.path.lstrip("/")) or text("PGDATABASE", "duskbook"),
        "USER": unquote(parts.username or "") or text("PGUSER", "duskbook"),
        "PASSWORD": unquote(parts.password or "") or secret("PGPASSWORD"),
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": {
            **dict(parse_qsl(parts.query)),
            "options": "-c statement_timeout=30s -c lock_timeout=5s"
            " -c idle_in_transaction_session_timeout=60s",
        },
    }
