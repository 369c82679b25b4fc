"""A script or a sheet with all that it imports in one text: a phone on a poor line pays for every request.

Our modules are written in a strict part of the language: whole lines `import { one, two as other } from
"./x.js";`, `import * as all from "./x.js";` and `import "./x.js";`, and what goes out stands as `export
function`, `export class` or `export const one =`. Whatever else begins with these words is refused, so is a
circle: better no new version than one that breaks in the hand. What is imported when it is wanted,
`import("./x.js")`, stays a file of its own.

A module that two files of a page hold runs once: the first one leaves it in a place that all look into.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterator

Read = Callable[[str], str]

IMPORT = re.compile(
    r'^import (?:(?:\{(?P<names>[\w\s,]+)\}|\* as (?P<whole>\w+)) from )?"(?P<path>\.[^"\n]+)";$', re.M
)
EXPORT = re.compile(
    r"^export (?=(?:async )?function (?P<function>\w+)\(|class (?P<class>\w+) |const (?P<const>\w+) = )", re.M
)
LATER = re.compile(r'(?<=\bimport\(")(\.[^"\n]+)(?="\))')
NOT_OURS = re.compile(r"^(?:import\b(?!\()|export\b).*|.*\bimport\.meta\b.*", re.M)
SHEET = re.compile(r'^@import "(?P<path>[\w.]+\.css)";\n', re.M)
PLACE = 'const modulesHere = (globalThis[Symbol.for("modules here")] ??= {});\n'


def of_script(name: str, read: Read) -> str:
    """Return the module `name` with all that it imports before it; `read` gives the text of a name.

    Raises ValueError with the name of the module that is written otherwise than this module understands.
    """
    modules = [_kept(one, name, read(one)) for one in _in_order(name, read, ())]
    outside = ", ".join(_exported(read(name)))
    return PLACE + "".join(modules) + (f"export const {{ {outside} }} = {_here(name)};\n" if outside else "")


def of_sheet(name: str, read: Read) -> str:
    """Return the sheet `name` with those that it imports in their place; all lie in one folder.

    Raises ValueError where an `@import` is left: one with a condition, or not at its line's begin.
    """

    def imported(found: re.Match[str]) -> str:
        return of_sheet(_beside(name, found["path"]), read)

    text = SHEET.sub(imported, read(name))
    if "@import" in text:
        raise ValueError(f"{name} imports a sheet otherwise than by a line '@import \"name.css\";'")
    return text


def _in_order(name: str, read: Read, above: tuple[str, ...]) -> Iterator[str]:
    """Yield what `name` imports and then itself, each once, as a browser runs them."""
    if name in above:
        raise ValueError(f"{name} imports itself by way of {above[-1]}")
    seen: dict[str, None] = {}
    for found in IMPORT.finditer(read(name)):
        seen |= dict.fromkeys(_in_order(_beside(name, found["path"]), read, (*above, name)))
    yield from seen
    yield name


def _kept(name: str, whole: str, text: str) -> str:
    """Return a module as a function that is run once, and what it exports in the place of its name."""
    names = ", ".join(_exported(text))
    text = IMPORT.sub(lambda found: _taken(name, found), text)
    text = EXPORT.sub("", text)
    if left := NOT_OURS.search(text):
        raise ValueError(f"{name} cannot be bundled: {left[0].strip()}")
    text = LATER.sub(lambda found: _seen_from(whole, _beside(name, found[0])), text)
    return f"{_here(name)} ??= (() => {{\n{text.rstrip()}\nreturn {{ {names} }};\n}})();\n"


def _taken(name: str, found: re.Match[str]) -> str:
    there = _here(_beside(name, found["path"]))
    if found["names"]:
        return f"const {{{found['names'].replace(' as ', ': ')}}} = {there};"
    return f"const {found['whole']} = {there};" if found["whole"] else ""


def _exported(text: str) -> list[str]:
    return [name for found in EXPORT.finditer(text) for name in found.groups() if name]


def _here(name: str) -> str:
    return f'modulesHere["{name}"]'


def _beside(name: str, path: str) -> str:
    return posixpath.normpath(posixpath.join(posixpath.dirname(name), path))


def _seen_from(name: str, path: str) -> str:
    seen = posixpath.relpath(path, posixpath.dirname(name))
    return seen if seen.startswith(".") else f"./{seen}"
