"""The guide is executed: in a copy of the tree a quantity, a check and a page are added as it says."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from reeds.checks.registry import CHECKS
from reeds.numbers.registry import QUANTITIES
from tests.test_house_rules import ROOT, TRACKED
from tests.world import PAGES

GUIDE = (ROOT / "DEVELOPERS.md").read_text()
PROGRAMS = Path(sys.executable).parent

BLOCK = re.compile(
    r"^(?P<new>New )?`(?P<file>[\w./]+)`(?:, (?P<how>before|instead of) `(?P<line>[^\n]+)`)?:\n\n"
    r"```\w+\n(?P<text>.*?\n)```$",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True)
class Block:
    """One block of code of the guide, and where it says that it goes."""

    file: str
    how: str  # new, before, instead of
    line: str
    text: str

    def apply(self, tree: Path) -> None:
        target = tree / self.file
        if self.how == "new":
            assert not target.exists(), f"{self.file} is there already"
            target.write_text(self.text)
            return
        lines = target.read_text().splitlines(keepends=True)
        places = [number for number, line in enumerate(lines) if line == self.line + "\n"]
        assert places, f"{self.file} has no line {self.line!r}"
        for at in reversed(places):
            lines[at : at + (self.how == "instead of")] = [self.text]
        target.write_text("".join(lines))


def blocks_of(guide: str) -> list[Block]:
    """The blocks under 'How to add', in order."""
    part = guide.split("\n## How to add\n", 1)[1].split("\n## ", 1)[0]
    return [
        Block(one["file"], "new" if one["new"] else one["how"] or "", one["line"] or "", one["text"])
        for one in BLOCK.finditer(part)
    ]


@pytest.fixture(scope="module")
def copy(tmp_path_factory) -> Path:
    """The tree as it is, with what the guide says done to it."""
    tree = tmp_path_factory.mktemp("copy")
    for file in TRACKED:
        target = tree / file.relative_to(ROOT)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(file, target)
    for block in blocks_of(GUIDE):
        block.apply(tree)
    return tree


def run(tree: Path, program: str, *arguments: str, **more: str) -> None:
    # the copy is no part of what coverage counts, and its tests are no worker of ours
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COV", "PYTEST"))}
    done = subprocess.run(  # noqa: S603
        [PROGRAMS / program, *arguments],
        cwd=tree,
        env={**kept, **more},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]


def test_the_guide_has_a_quantity_a_check_and_a_page():
    files = {block.file for block in blocks_of(GUIDE)}
    assert {
        "reeds/numbers/registry.py",
        "reeds/checks/registry.py",
        "reeds/urls.py",
        "tests/world.py",
    } <= files
    part = GUIDE.split("\n## How to add\n", 1)[1].split("\n## ", 1)[0]
    assert len(blocks_of(GUIDE)) == part.count("\n```") / 2, "a block of the guide that nobody executes"


def test_what_it_adds_is_tidy(copy):
    run(copy, "ruff", "check", "--no-cache", ".")
    run(copy, "ruff", "format", "--no-cache", "--check", ".")
    run(copy, "djade", "--target-version", "5.2", "--check", *map(str, (copy / "templates").rglob("*.html")))


def test_what_it_adds_keeps_the_import_contracts(copy):
    run(copy, "lint-imports", "--no-cache")


def test_what_it_adds_works(copy):
    before = {"quantities": list(QUANTITIES), "checks": [check.key for check in CHECKS], "pages": list(PAGES)}
    added = [block.file for block in blocks_of(GUIDE) if block.file.startswith("tests/reeds/")]
    tests = ("tests/shown_by_the_guide.py", *added, "tests/reeds/numbers/test_quantities.py")
    pytest = ("-m", "pytest", "-q", "-p", "no:cacheprovider", f"--basetemp={copy / 'of-its-tests'}")
    run(copy, "python", *pytest, *tests, BEFORE=json.dumps(before))
