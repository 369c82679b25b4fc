"""Sentences that are marked in the sources, and the German ones of the catalogue, read without gettext."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.utils.translation.template import templatize

PO = Path(settings.LOCALE_PATHS[0]) / "de" / "LC_MESSAGES" / "django.po"
MO = PO.with_suffix(".mo")
# each call with the places of its context, its sentence and its plural
CALLS = {
    **dict.fromkeys(("_", "gettext", "gettext_lazy", "gettext_noop"), (None, 0, None)),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), (None, 0, 1)),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), (0, 1, None)),
    **dict.fromkeys(("npgettext", "npgettext_lazy"), (0, 1, 2)),
}
# a context, '' for none; the sentence; its plural, '' for none
Key = tuple[str, str, str]


def _said_by(call: ast.Call) -> Key | None:
    """Return what a call marks; None for any other call, and for one of a sentence that stands elsewhere."""
    places = CALLS.get(call.func.id) if isinstance(call.func, ast.Name) else None
    if places is None:
        return None
    given = [one.value if isinstance(one, ast.Constant) else None for one in call.args]
    said = ["" if place is None else given[place] if place < len(given) else None for place in places]
    return None if None in said or not said[1] else (str(said[0]), str(said[1]), str(said[2]))


def in_python(source: str) -> Iterator[Key]:
    """Return what is marked in a module."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and (said := _said_by(node)):
            yield said


CALL = re.compile(rf"\b({'|'.join(sorted(CALLS, key=len, reverse=True))})\(")


def in_template(source: str) -> Iterator[Key]:
    """Return what is marked in a template; Django's own makes calls of it."""
    made = templatize(source)
    for found in CALL.finditer(made):
        end = _end_of_call(made, found.end())
        call = ast.parse(made[found.start() : end].strip(), mode="eval").body
        if isinstance(call, ast.Call) and (said := _said_by(call)):
            yield said


def _end_of_call(text: str, start: int) -> int:
    """Return where a call ends whose arguments begin at `start`: at the first bracket that makes it whole."""
    for found in re.finditer(r"\)", text[start:]):
        end = start + found.end()
        begin = text.rfind("(", 0, start)
        try:
            ast.parse(f"f{text[begin:end]}", mode="eval")
        except SyntaxError:
            continue
        return end
    raise ValueError(text[start : start + 80])


@dataclass
class Entry:
    """One sentence of the catalogue with its translations, and what stands over it."""

    context: str = ""
    one: str = ""
    many: str = ""
    said: list[str] = field(default_factory=list)
    flags: str = ""

    @property
    def key(self) -> Key:
        return self.context, self.one, self.many

    @property
    def in_mo(self) -> dict[object, str]:
        """What stands of it in the compiled catalogue."""
        name = f"{self.context}\x04{self.one}" if self.context else self.one
        return {(name, n): said for n, said in enumerate(self.said)} if self.many else {name: self.said[0]}


FIELDS = {"msgctxt": "context", "msgid": "one", "msgid_plural": "many"}
LINE = re.compile(r'(?:(msgctxt|msgid_plural|msgid|msgstr)(?:\[\d\])? )?(".*")')


def entries(text: str) -> list[Entry]:
    """Return the entries of a .po file, its head first."""
    return [_entry(block) for block in re.split(r"\n\s*\n", text.strip())]


def _entry(block: str) -> Entry:
    entry, into = Entry(), ""
    for line in block.splitlines():
        if line.startswith("#"):
            entry.flags += line if line.startswith(("#,", "#~", "#|")) else ""
            continue
        found = LINE.fullmatch(line)
        if found is None:
            raise ValueError(line)
        word, text = found[1], ast.literal_eval(found[2])
        into = word or into
        if into == "msgstr":
            entry.said = [*entry.said, text] if word else [*entry.said[:-1], entry.said[-1] + text]
        else:
            setattr(entry, FIELDS[into], getattr(entry, FIELDS[into]) + text)
    return entry
