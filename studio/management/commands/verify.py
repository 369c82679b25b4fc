"""All that must hold: linters, types, contracts, migrations, production settings, tests.

With --quick only what takes a minute: linters, types, contracts, templates, and tests that need no database.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from studio.children import GRACE_S, Child, Stopped, stop

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PRODUCTION = {
    "PRODUCTION": "1",
    "SECRET_KEY": "only-for-this-check-" + "0123456789abcdefghijklmnopqrstuvwxyz" * 2,
    "SITE_ADDRESS": "https://reeds.example.org",
    "BEHIND_PROXY": "1",
    "EMAIL_URL": "smtp://localhost:25",
}
PYTHON = sys.executable
# neighbours stay with one worker, so that what a module makes once is made once
WORKERS = ("-n", "2", "--dist", "worksteal")
PYTEST = (PYTHON, "-m", "pytest", *WORKERS, "-p", "no:cacheprovider")


def _tool(name: str) -> str:
    return str(Path(PYTHON).parent / name)


@dataclass(frozen=True)
class Step:
    """One thing that must hold."""

    name: str
    command: tuple[str, ...]
    surroundings: Mapping[str, str] = field(default_factory=dict)


TEMPLATES = tuple(map(str, sorted((settings.BASE_DIR / "templates").rglob("*.html"))))
# of the computation what is quick: photos and recordings take minutes
QUICK_TESTS = (
    "tests/test_house_rules.py",
    "tests/test_docs.py",
    "tests/test_pure.py",
    "tests/reeds/numbers",
    "tests/reeds/checks",
    "tests/lessons/answering/test_annotation.py",
    "tests/lessons/answering/test_spans.py",
    "tests/lessons/term/test_charts.py",
    "tests/lessons/term/test_lookback.py",
)
LINTERS = (
    Step("linter", (_tool("ruff"), "check", ".")),
    Step("format", (_tool("ruff"), "format", "--check", ".")),
    Step("templates", (_tool("djade"), "--target-version", "5.2", "--check", *TEMPLATES)),
    Step("types", (_tool("mypy"),)),
    Step("import contracts", (_tool("lint-imports"),)),
)
QUICK = (
    *LINTERS,
    Step("quick tests", (PYTHON, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", *QUICK_TESTS)),
)
STEPS = (
    *LINTERS,
    Step("migrations", (PYTHON, "manage.py", "makemigrations", "--check", "--dry-run")),
    Step(
        "production settings",
        (PYTHON, "manage.py", "check", "--deploy", "--fail-level", "WARNING"),
        PRODUCTION,
    ),
    Step("unit and outside tests", (*PYTEST, "tests", "--ignore=tests/browser")),
    Step("browser tests", (*PYTEST, "tests/browser")),
)


def _stopped(_number: int, _frame: object) -> None:
    raise Stopped


class Command(BaseCommand):
    help = "Run everything that must hold; ends with what does not."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--quick", action="store_true", help="only what takes a minute")

    def handle(self, *_args: Any, quick: bool = False, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, _stopped)
        try:
            if not quick:
                self._require_tools()
            with tempfile.TemporaryDirectory(prefix="verify-") as data:
                failed = [step.name for step in (QUICK if quick else STEPS) if not self._holds(step, data)]
        except Stopped:
            raise CommandError("Stopped before the end: nothing is shown.") from None
        if failed:
            raise CommandError(f"Does not hold: {', '.join(failed)}.")
        self.stdout.write("All of it holds.")

    def _require_tools(self) -> None:
        """Find a browser, or install one where that is allowed; what plays and speaks for some tests too."""
        if not _has_browser() and _may_install():
            self.stdout.write("Installing Chromium for the browser tests.")
            self._install("chromium")
        if not _has_browser():
            raise CommandError("The browser tests need a Chromium: install the package 'chromium' first.")
        if not all(map(shutil.which, ("fluidsynth", "espeak-ng"))) and _may_install():
            self._install("fluidsynth", "fluid-soundfont-gm", "espeak-ng")

    def _install(self, *packages: str) -> None:
        quiet = {"DEBIAN_FRONTEND": "noninteractive"}
        self._succeeds(("apt-get", "update", "-qq"), quiet)
        self._succeeds(("apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages), quiet)

    def _holds(self, step: Step, data: str) -> bool:
        self.stdout.write(f"\n== {step.name}")
        self.stdout.flush()
        began = time.monotonic()
        holds = self._succeeds(step.command, {"DATA_DIR": data, **step.surroundings})
        self.stdout.write(f"-- {step.name}: {'ok' if holds else 'FAILED'}, {time.monotonic() - began:.0f} s")
        return holds

    def _succeeds(self, command: tuple[str, ...], surroundings: Mapping[str, str]) -> bool:
        """Run a command with no settings of ours but these; ended in order when we are told to end."""
        ours = {name: value for name, value in os.environ.items() if name not in settings.ENVIRONMENT}
        child = Child(command, settings.BASE_DIR, {**ours, **surroundings})
        child.start()
        try:
            return child.wait() == 0
        except Stopped:
            child.send(signal.SIGINT)  # to all of the group: what a test started ends what it started
            child.wait(GRACE_S)
            raise
        finally:
            stop([child])


def _has_browser() -> bool:
    return any(map(shutil.which, BROWSERS))


def _may_install() -> bool:
    return os.geteuid() == 0 and shutil.which("apt-get") is not None
