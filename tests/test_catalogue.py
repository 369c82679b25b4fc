"""The German catalogue: nothing missing or stale, compiled as it stands; its words: test_words_found.py."""

import gettext
import re

import pytest

from tests.catalogue import MO, PO, entries, in_python, in_template
from tests.test_house_rules import TRACKED, name_of

AGAIN = "make messages, then translate what is new in studio/locale/de"


OURS = ("studio/", "reeds/", "lessons/", "templates/", "static/js/")


def of_kind(ending):
    ours = [file for file in TRACKED if file.suffix == ending and name_of(file).startswith(OURS)]
    return [(name_of(file), file.read_text()) for file in ours]


@pytest.fixture(scope="module")
def catalogue():
    head, *rest = entries(PO.read_text())
    assert "charset=UTF-8" in head.said[0]
    return rest


@pytest.fixture(scope="module")
def marked():
    """What is marked in the sources, each with where it stands."""
    ways = [(in_python, of_kind(".py")), (in_template, [*of_kind(".html"), *of_kind(".txt")])]
    return {key: name for read, files in ways for name, source in files for key in read(source)}


def test_every_sentence_is_in_the_catalogue_and_none_that_is_gone(catalogue, marked):
    there = {entry.key for entry in catalogue}
    assert {key: name for key, name in marked.items() if key not in there} == {}, AGAIN
    assert sorted(there - set(marked)) == [], AGAIN


def test_what_is_compiled_is_what_stands_there(catalogue):
    with MO.open("rb") as file:
        compiled = gettext.GNUTranslations(file)._catalog
    said = {key: value for entry in catalogue for key, value in entry.in_mo.items()}
    assert {key: value for key, value in compiled.items() if key != ""} == said, "make messages"


def test_scripts_hold_no_sentence_but_take_them_from_the_page():
    sentence = re.compile(r"""(?<!Error\()(["'`])[A-Z][a-z]+(?: [a-z]+)+[^"'`]*\1""")
    assert {name: found[0] for name, source in of_kind(".js") if (found := sentence.search(source))} == {}


def test_calls_and_tags_of_every_kind_are_found():
    source = '_("a" " b"); ngettext("one", "%d", n); pgettext("music", "note"); _(f"{x}"); other("c")'
    assert set(in_python(source)) == {("", "a b", ""), ("", "one", "%d"), ("music", "note", "")}
    page = """{% load i18n %}{% translate "It's (so)" %}{% translate "note" context "music" %}
      {% blocktranslate trimmed count n=n %}{{ n }} reed{% plural %}{{ n }} reeds{% endblocktranslate %}"""
    assert set(in_template(page)) == {
        ("", "It's (so)", ""),
        ("music", "note", ""),
        ("", "%(n)s reed", "%(n)s reeds"),
    }
