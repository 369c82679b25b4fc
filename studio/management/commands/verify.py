"""All that must hold: linters, types, contracts, migrations, production settings, tests.

With --quick only what takes a minute: linters, types, contracts, templates, and tests that need no database.
"""

from __future__ import annotations

import ctypes.util
import itertools
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from studio.children import Child, Stopped, stop
from studio.side_by_side import Underway, run

# the first has no windows to draw, and a test's fresh context costs it a fifth of what it costs the next
BROWSERS = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
)
# what is looked at is set in letters as wide as a phone's or a desk's: DejaVu's, all there may be, are wider
LETTERS = Path("/usr/share/fonts/truetype/liberation")
# Debian packs the library of each name as libNAME-0
SET_TYPE = ("pango-1.0", "pangoft2-1.0")
PROXY = ("nginx", "openssl", "systemd-analyze")
PLAYERS = ("fluidsynth", "espeak-ng")
INSTRUMENTS = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")  # what the first plays: a package of its own
# the whole line in other browsers: WebKit draws on a screen that nobody sees
OTHER_BROWSERS = ("WebKitWebDriver", "Xvfb", "firefox-esr")
# what WebKit records by
RECORDER = "*/gstreamer-1.0/libgsttranscode.so"
# what looks whether pages are valid HTML: by npm into the environment, from a lock of its own
VALIDATOR = Path(sys.prefix) / "valid-html"
VALIDATES = VALIDATOR / "node_modules" / ".bin" / "html-validate"
MADE_OF = settings.BASE_DIR / "tests" / "html"
PRODUCTION = {
    "PRODUCTION": "1",
    "SECRET_KEY": "only-for-this-check-" + "0123456789abcdefghijklmnopqrstuvwxyz" * 2,
    "SITE_ADDRESS": "https://reeds.example.org",
    "BEHIND_PROXY": "1",
    "EMAIL_URL": "smtp://localhost:25",
}
PYTHON = sys.executable
PAUSE_S = 0.1
# neighbours stay with one worker, so that what a module makes once is made once
WORKERS = ("-n", "2", "--dist", "worksteal")
PYTEST = (PYTHON, "-m", "pytest", *WORKERS, "-p", "no:cacheprovider")
# a browser on a busy machine: what fails is tried a second time, and the end of the run names it
AGAIN = ("--reruns", "1", "-rR")


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
    "tests/lessons/term/charts",
    "tests/lessons/term/test_chance.py",
    "tests/lessons/term/test_evenness.py",
    "tests/lessons/term/test_lookback.py",
    "tests/lessons/term/test_lookback_moving.py",
)
LINTERS = (
    Step("linter", (_tool("ruff"), "check", ".")),
    Step("format", (_tool("ruff"), "format", "--check", ".")),
    Step("templates", (_tool("djade"), "--target-version", "5.2", "--check", *TEMPLATES)),
    Step("types", (_tool("mypy"),)),
    Step("import contracts", (_tool("lint-imports"),)),
)
QUICK = (
    LINTERS,
    (Step("quick tests", (PYTHON, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", *QUICK_TESTS)),),
)
SETTINGS = (
    Step("migrations", (PYTHON, "manage.py", "makemigrations", "--check", "--dry-run")),
    Step(
        "production settings",
        (PYTHON, "manage.py", "check", "--deploy", "--fail-level", "WARNING"),
        PRODUCTION,
    ),
)
# every test that asks a database, and the line on two web processes, two workers and S3
ON_POSTGRESQL = ("-m", "database", "tests", "--ignore=tests/browser", "--ignore=tests/torture")
SERVICES = Step("on PostgreSQL", (PYTHON, "-m", "tests.services", *PYTEST, *ON_POSTGRESQL))
# side by side: mypy has one thread, and a browser's tests wait for the browser
WHOLE = (
    (*LINTERS, *SETTINGS, SERVICES),
    (Step("unit and outside tests", (*PYTEST, "tests", "--ignore=tests/browser")),),
    (Step("browser tests", (*PYTEST, *AGAIN, "tests/browser")),),
)


class Command(BaseCommand):
    help = "Run everything that must hold; ends with what does not."
    requires_system_checks = []
    asked_to_stop = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--quick", action="store_true", help="only what takes a minute")

    def handle(self, *_args: Any, quick: bool = False, **_options: Any) -> None:  # noqa: ANN401  # as BaseCommand has it
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._note)
        try:
            if not quick:
                self._require_tools()
            with tempfile.TemporaryDirectory(prefix="verify-") as folder:
                failed = run(_underway(QUICK if quick else WHOLE, Path(folder)), self._tell, self._pause)
        except Stopped:
            raise CommandError("Stopped before the end: nothing is shown.") from None
        if failed:
            raise CommandError(f"Does not hold: {', '.join(failed)}.")
        self.stdout.write("All of it holds.")

    def _require_tools(self) -> None:
        """Find a browser, or install one where that is allowed; what plays, speaks and sets type too."""
        if _may_install():
            self._install_missing()
        if not _has_browser():
            raise CommandError("The browser tests need a Chromium: install the package 'chromium' first.")
        if not _has_validator():
            self._install_validator()

    def _install_missing(self) -> None:
        if not shutil.which(BROWSERS[0]):
            self.stdout.write("Installing Chromium for the browser tests.")
            self._install(BROWSERS[0])
        if not _has_browser():  # where Chromium is not packed as Debian does
            self._install("chromium")
        if not all(map(shutil.which, PLAYERS)) or not _has_instruments():
            self._install("fluidsynth", "fluid-soundfont-gm", "espeak-ng")
        if not all(map(shutil.which, PROXY)):
            self._install("nginx-light", "openssl", "systemd")
        if not all(map(shutil.which, OTHER_BROWSERS)) or not _can_record():
            self.stdout.write("Installing WebKit and Firefox for the browser tests.")
            self._install("webkit2gtk-driver", "xvfb", "firefox-esr", "gstreamer1.0-plugins-bad")
        if not _has_letters():
            self._install("fonts-liberation")
        if not all(map(ctypes.util.find_library, SET_TYPE)):
            self.stdout.write("Installing Pango, which sets the letters.")
            self._install(*(f"lib{name}-0" for name in SET_TYPE))

    def _install_validator(self) -> None:
        if not shutil.which("npm") and _may_install():
            self._install("nodejs", "npm")
        self.stdout.write("Installing what looks whether pages are valid HTML.")
        VALIDATOR.mkdir(exist_ok=True)
        for file in MADE_OF.glob("package*.json"):
            shutil.copy(file, VALIDATOR)
        if shutil.which("npm"):
            self._wait_for(_child(("npm", "ci", "--silent", "--no-audit", "--prefix", str(VALIDATOR)), {}))
        if not VALIDATES.exists():
            raise CommandError("The browser tests need html-validate: is there an npm, and its registry?")

    def _install(self, *packages: str) -> None:
        quiet = {"DEBIAN_FRONTEND": "noninteractive"}
        for command in (
            ("apt-get", "update", "-qq"),
            ("apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages),
        ):
            self._wait_for(_child(command, quiet))

    def _wait_for(self, child: Child) -> None:
        child.start()
        try:
            while child.is_alive:
                self._pause()
        finally:
            stop([child])

    def _note(self, _number: int, _frame: object) -> None:
        self.asked_to_stop = True

    def _pause(self) -> None:
        time.sleep(PAUSE_S)
        if self.asked_to_stop:
            raise Stopped

    def _tell(self, said: str) -> None:
        self.stdout.write(said, ending="")
        self.stdout.flush()


def _underway(lanes: Sequence[Sequence[Step]], folder: Path) -> list[list[Underway]]:
    """Give each step a folder for its data and a file for what it says."""
    places = (folder / str(number) for number in itertools.count())
    return [[_in_place(step, next(places)) for step in lane] for lane in lanes]


def _in_place(step: Step, place: Path) -> Underway:
    place.mkdir()
    said = place.with_suffix(".said")
    surroundings = {"DATA_DIR": str(place), **step.surroundings}
    return Underway(step.name, _child(step.command, surroundings, said), said)


def _child(command: tuple[str, ...], surroundings: Mapping[str, str], said: Path | None = None) -> Child:
    """Return a command with no settings of ours but these.

    What is compiled is kept, whatever the shell says: every program that a test starts reads our code anew.
    """
    left_out = {*settings.ENVIRONMENT, "PYTHONDONTWRITEBYTECODE"}
    ours = {name: value for name, value in os.environ.items() if name not in left_out}
    return Child(command, settings.BASE_DIR, {**ours, **surroundings}, said)


def _has_letters() -> bool:
    return LETTERS.exists()


def _has_instruments() -> bool:
    return INSTRUMENTS.exists()


def _can_record() -> bool:
    return any(Path("/usr/lib").glob(RECORDER))


def _has_browser() -> bool:
    return any(map(shutil.which, BROWSERS))


def _has_validator() -> bool:
    """Whether it is there, and as its lock says."""
    lock = "package-lock.json"
    kept = VALIDATOR / lock
    return VALIDATES.exists() and kept.exists() and kept.read_bytes() == (MADE_OF / lock).read_bytes()


def _may_install() -> bool:
    return os.geteuid() == 0 and shutil.which("apt-get") is not None
