"""A language in which each sentence stands in brackets: what stands outside them went through no gettext."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from html.parser import HTMLParser

from django.utils import translation
from django.utils.translation import trans_real

from studio.templatetags.here import _rendered

OPEN, CLOSE = "⟦", "⟧"
INNERMOST = re.compile(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}")
# what people read beside the text itself; scripts get their sentences by data attributes
READ = re.compile(r"alt|title|placeholder|aria-label|aria-description|aria-roledescription|label|data-[\w-]+")
BUTTONS = ("submit", "button", "reset")
# a number that no person reads, and with a comma is none
COMMA = re.compile(r"-?\d+,\d+")
# a hyphen where people read a minus
HYPHEN = re.compile(r"(?<![\w.,-])-\d[\d.,]*")


class Bracketed(trans_real.DjangoTranslation):
    """German, as far as days and numbers are written; of sentences only that they were translated."""

    def gettext(self, message: str) -> str:
        return f"{OPEN}{_without_context(message)}{CLOSE}" if message else ""

    def ngettext(self, one: str, many: str, n: int) -> str:
        return self.gettext(one if n == 1 else many)


def _without_context(message: str) -> str:
    """Django asks for a sentence of a context by both in one."""
    return message.rpartition(trans_real.CONTEXT_SEPARATOR)[2]


@contextlib.contextmanager
def bracketed() -> Iterator[None]:
    """Have German be that language."""
    before = trans_real.translation("de")
    trans_real._translations["de"] = Bracketed("de")
    _rendered.cache_clear()
    try:
        with translation.override("de"):
            yield
    finally:
        trans_real._translations["de"] = before
        _rendered.cache_clear()


def _is_read(name: str, value: str) -> bool:
    """Whether an attribute holds words: of those for scripts, one that is no key, address or number."""
    return bool(READ.fullmatch(name)) and (not name.startswith("data-") or " " in value.strip())


class _Numbers(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            for_people = (tag == "input" and name == "value") or READ.fullmatch(name.removeprefix("data-"))
            if value and COMMA.fullmatch(value) and not for_people:
                self.found.append(f'{name}="{value}"')


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag in ("script", "style", "code", "kbd"):
            self.inside.append(tag)
        self.found += [value for name, value in attrs if value and _is_read(name, value)]
        if tag == "input" and given.get("type") in BUTTONS:
            self.found.append(given.get("value") or "")

    def handle_endtag(self, tag: str) -> None:
        if self.inside and self.inside[-1] == tag:
            self.inside.pop()

    def handle_data(self, data: str) -> None:
        if not self.inside:
            self.found.append(data)


def outside_brackets(text: str) -> str:
    """Return what of a text stands outside all brackets."""
    while INNERMOST.search(text):
        text = INNERMOST.sub(" ", text)
    return " ".join(text.split())


def untranslated(html: str) -> list[str]:
    """Return each text of a page that holds a word outside brackets: what is there of it."""
    reader = _Reader()
    reader.feed(html)
    # a sentence may go on over tags within it: then its brackets are in several texts
    return [
        rest for one in _closed(reader.found) if re.search(r"[^\W\d_]{2,}", rest := outside_brackets(one))
    ]


def _closed(texts: list[str]) -> Iterator[str]:
    """Join texts as long as a bracket is open."""
    held = ""
    for text in texts:
        held += text
        if held.count(OPEN) <= held.count(CLOSE):
            yield held
            held = ""
    if held:
        yield held


def numbers_for_machines(html: str) -> list[str]:
    """Return each number in an attribute that is written for a reader and read by a browser or a script."""
    reader = _Numbers()
    reader.feed(html)
    return reader.found


def hyphens_for_minus(html: str) -> list[str]:
    """Return each number that people read with a hyphen for its minus; what stands in a field is typed."""
    reader = _Reader()
    reader.feed(html)
    return [found for text in reader.found for found in HYPHEN.findall(text)]
