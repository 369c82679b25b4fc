"""Draws folders and who imports whom into the guide, from the import contracts and the imports themselves.

`python -m tests.drawing_of_layers` sets the drawing in DEVELOPERS.md anew; a test fails where it is old.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

import grimp

ROOT = Path(__file__).parent.parent
GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- layers: drawn by python -m tests.drawing_of_layers -->", "<!-- /layers -->"


@dataclass(frozen=True)
class Place:
    """One folder or module of an app, and the layer it stands on, counted from the top."""

    module: str
    layer: int
    pure: tuple[str, ...]  # what of it must not import Django

    @property
    def app(self) -> str:
        return self.module.split(".")[0]

    @property
    def name(self) -> str:
        return self.module.split(".")[-1]


def contracts() -> list[dict]:
    """The import contracts of pyproject.toml."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]


def places() -> list[Place]:
    """Every folder that a contract gives a layer, from the top to the bottom."""
    layers = [contract for contract in contracts() if contract["type"] == "layers"]
    within = {one["containers"][0]: one["layers"] for one in layers if len(one.get("containers", [])) == 1}
    apps = next(one["layers"] for one in layers if "containers" not in one)
    rows = [
        [f"{app}.{name}" for name in re.split(r"[\s:|()]+", row) if name]
        for app in apps
        for row in within.get(app, [])
    ] + [[app] for app in apps if app not in within]
    return [Place(module, layer, pure_in(module)) for layer, row in enumerate(rows, 1) for module in row]


def pure_in(module: str) -> tuple[str, ...]:
    """What of a folder is computation: '' for the whole of it."""
    pure = next(one for one in contracts() if "django" in one.get("forbidden_modules", []))["source_modules"]
    return tuple(
        one.removeprefix(module).lstrip(".") for one in pure if one == module or one.startswith(f"{module}.")
    )


def imports(rows: list[Place]) -> set[tuple[str, str]]:
    """Which of them imports which, found in the code."""
    graph = grimp.build_graph(*{row.app for row in rows}, cache_dir=None)

    def place_of(module: str) -> str:
        inside = [row.module for row in rows if f"{module}.".startswith(f"{row.module}.")]
        return max(inside, key=len, default="")

    pairs = {
        (place_of(module), place_of(imported))
        for module in graph.modules
        for imported in graph.find_modules_directly_imported_by(module)
    }
    return {(one, other) for one, other in pairs if one and other and one != other}


def drawing() -> str:
    """The drawing: a row a folder, from the top layer down, a dot under the number of what it imports."""
    rows = places()
    used = imports(rows)
    head = "layer" + " " * 27 + "".join(f"{number:3}" for number in range(1, len(rows) + 1))
    return "\n".join([head, *(_row(number, row, rows, used) for number, row in enumerate(rows, 1))])


def _row(number: int, row: Place, rows: list[Place], used: set[tuple[str, str]]) -> str:
    marks = "".join(
        "  ■" if other is row else "  ●" if (row.module, other.module) in used else "  ·" for other in rows
    )
    label = row.module.replace(".", "/")
    first = number == 1 or rows[number - 2].layer != row.layer
    layer = row.layer if first else ""
    pure = "" if not row.pure else "  pure" if row.pure == ("",) else f"  pure: {', '.join(row.pure)}"
    return f"{layer:>5} {number:3} {label:22}{marks}{pure}"


def set_in(guide: str) -> str:
    """The guide with the drawing as it is now."""
    before, rest = guide.split(BEGIN)
    return f"{before}{BEGIN}\n\n```\n{drawing()}\n```\n\n{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    GUIDE.write_text(set_in(GUIDE.read_text()))
