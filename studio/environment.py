"""Settings from the environment: a sentence where one cannot be read, a secret kept where none is given."""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured
from django.utils.crypto import get_random_string


class Environment(environ.Env):
    """django-environ, but a value that cannot be read is named instead of ending in a traceback."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: list[str] = []

    def count(self, var: str, default: int = 0) -> int:
        """Return a whole number; what says yes counts as one, what says no as none."""
        said = self.str(var, default=str(default)).strip().lower()
        if said in {*self.BOOLEAN_TRUE_STRINGS, "yes", "on", "true"} - {"1"}:
            return 1
        if said in {"", "no", "off", "false", "n", "f"}:
            return 0
        if not said.isdecimal():
            raise ImproperlyConfigured(f"{var} is set to '{said}', which cannot be read.")
        return int(said)

    def one_of(self, var: str, words: tuple[str, ...]) -> str:
        """Return one of these words, the first where nothing is said."""
        said: str = self.str(var, default=words[0]).strip().lower()
        if said not in words:
            raise ImproperlyConfigured(f"{var} is set to '{said}'; it may be {' or '.join(words)}.")
        return said

    def get_value(self, var: Any, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401  # as django-environ has it
        self.asked.append(str(var))
        try:
            return super().get_value(var, *args, **kwargs)
        except ValueError as error:
            shown = os.environ.get(str(var), "")
            raise ImproperlyConfigured(f"{var} is set to '{shown}', which cannot be read.") from error


def host_of(address: str) -> str:
    """Return the host of an address as a Host header names it, without its port; empty where none is."""
    host = urlsplit(address).hostname or ""
    return f"[{host}]" if ":" in host else host


def origin_of(address: str) -> str:
    """Return scheme, host and port of an address, as a content policy names them."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}"


def also_from(directives: dict[str, list[str]], origin: str) -> None:
    """Let pages show pictures and sounds of another origin, and send files to it."""
    for directive in ("img-src", "media-src", "connect-src"):
        directives[directive] = [*directives.get(directive, ["'self'"]), origin]


def secret_key(given: str, data_dir: Path, production: bool) -> str:
    """Return the given key, or the one kept in the data folder; in production it must be given."""
    if given:
        return given
    if production:
        raise ImproperlyConfigured(
            "PRODUCTION is set and SECRET_KEY is not: give every process the same long random one."
        )
    return kept_secret(data_dir / "secret_key", lambda: get_random_string(50))


def kept_secret(file: Path, made: Callable[[], str]) -> str:
    """Return what the file holds, made now if it is not there; of two processes at once one writes it."""
    fresh = file.with_suffix(f".{os.getpid()}-{threading.get_ident()}")
    if not file.exists():
        with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as new:
            new.write(made())
        with contextlib.suppress(FileExistsError):  # another process was quicker
            os.link(fresh, file)  # a link, since it never shows half a key
        fresh.unlink()
    return file.read_text()
