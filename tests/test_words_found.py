"""Every sentence is found by the tool that gathers them, and said in German with the same places."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from tests.test_house_rules import OURS, all_hold, tree_of

CATALOGUE = Path(__file__).parent.parent / "studio" / "locale" / "de" / "LC_MESSAGES" / "django.po"
# makemessages knows a call by its name; an alias is found only if it is one of these
FOUND = {"_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy", "pgettext"}
FOUND |= {"pgettext_lazy", "npgettext", "npgettext_lazy"}
PLACE = re.compile(r"%\(\w+\)[sd]|%%|%[sd]")
TAG = re.compile(r"</?[a-z][^>]*>")


def hidden_sentences(tree):
    """Calls that translate and that the tool does not find: by another name, or inside an f-string."""
    nodes = list(ast.walk(tree))
    imported = [one for node in nodes if isinstance(node, ast.ImportFrom) for one in node.names]
    marking = {one.asname or one.name for one in imported if "gettext" in one.name}
    if not marking:
        return []
    spliced = [call for node in nodes if isinstance(node, ast.JoinedStr) for call in ast.walk(node)]
    return [
        f"line {call.lineno}"
        for call in nodes
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in marking
        if call.args and isinstance(call.args[0], ast.Constant)
        if call.func.id not in FOUND or call in spliced
    ]


def test_every_sentence_is_found_by_the_tool():
    all_hold(lambda file: hidden_sentences(tree_of(file)), OURS)


def test_an_alias_and_an_f_string_are_seen():
    alias = "from django.utils.translation import gettext as now_\n"
    assert hidden_sentences(ast.parse(alias + 'now_("Good")')) == ["line 2"]
    plain = "from django.utils.translation import gettext as _\n"
    assert hidden_sentences(ast.parse(plain + "f\"{_('Good')} day\"")) == ["line 2"]
    assert hidden_sentences(ast.parse(plain + '_("Good")\nf"{_(word)} day"')) == []


def _entries():
    """Yield of each entry its English and its German, singular and plural apart."""
    for block in CATALOGUE.read_text().split("\n\n")[1:]:
        said = {}
        for key, text in re.findall(r'^(msg\w+(?:\[\d\])?) ((?:".*"\n?)+)', block, re.MULTILINE):
            said[key] = "".join(ast.literal_eval(line) for line in text.splitlines())
        yield said["msgid"], said.get("msgstr", said.get("msgstr[0]", ""))
        if "msgid_plural" in said:
            yield said["msgid_plural"], said["msgstr[1]"]


def _kept(text):
    return set(PLACE.findall(text)), sorted(TAG.findall(text)), text.endswith("\n"), text[:1].isspace()


def test_german_says_every_sentence_with_its_places_and_tags():
    entries = list(_entries())
    assert len(entries) > 3000
    wrong = [english for english, german in entries if not german or _kept(english) != _kept(german)]
    assert wrong == []
    assert "#, fuzzy" not in CATALOGUE.read_text()
