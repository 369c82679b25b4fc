"""What cannot be taken or done is one family, and the reader gets one sentence."""

import importlib
import inspect
import re

import pytest
from django.utils import translation

from reeds.numbers.entry import NumberQuestion, read_number
from reeds.numbers.words import Refused
from reeds.wording import say
from studio.errors import NotPossible

HOMES = (
    "lessons.answering.annotation",
    "lessons.log.table.cells",
    "lessons.log.table.days",
    "lessons.log.table.rows",
    "lessons.sending.actions",
    "reeds.checks.sheet",
    "reeds.numbers.entry",
    "reeds.numbers.notes",
    "reeds.photo.vision.refusal",
    "reeds.sheet.actions.sheet",
    "reeds.sheet.playing_items",
    "reeds.take.sound.decode",
)


def _below(kind):
    """The family below a class: the names of its children, each with those below it."""
    return {child.__name__: _below(child) for child in kind.__subclasses__()}


def _drawn():
    """The family as the docstring draws it."""
    tree = {}
    above = [tree]
    for indent, name in re.findall(r"^( *)- (\w+)", inspect.getdoc(Refused), re.M):
        depth = len(indent) // 2
        del above[depth + 1 :]
        above.append(above[depth].setdefault(name, {}))
    return tree


def test_the_tree_in_the_docstring_is_the_family():
    for home in HOMES:
        importlib.import_module(home)
    assert _drawn() == {"Refused": _below(Refused), "NotPossible": _below(NotPossible)}


def test_a_refusal_carries_its_sentence_and_what_fills_it():
    refused = Refused("%(name)s is %(value)s.", name="gouge", value=0.5)
    assert str(refused) == "Gouge is 0.5."
    assert (refused.sentence, refused.params) == ("%(name)s is %(value)s.", {"name": "gouge", "value": 0.5})


def test_a_sentence_without_places_may_hold_a_percent_sign():
    assert say(Refused("It is 50 % too dark.")) == "It is 50 % too dark."


def test_it_is_said_with_the_reader_s_decimal_mark():
    with pytest.raises(NumberQuestion) as caught:
        read_number("57", name="gouge", unit="mm", low=0.3, high=0.9)
    with translation.override("de"):
        assert "0,57" in say(caught.value)
    assert caught.value.suggestion == 0.57
