"""Sentences of the pure packages, filled in and translated where they are shown."""

import pytest

from reeds.numbers.words import said


def test_names_and_labels_are_translated_and_other_words_are_not():
    german = {
        "tie length": "Aufbindelänge",
        "wet": "nass",
        "%(name)s: %(state_label)s, %(typed)s.": "%(name)s %(state_label)s %(typed)s",
    }
    params = {"name": "tie length", "state_label": "wet", "typed": "wet"}
    shown = said("%(name)s: %(state_label)s, %(typed)s.", params, lambda text: german.get(text, text))
    assert shown == "Aufbindelänge nass wet"


def test_numbers_are_written_as_the_page_writes_them():
    assert said("%(a)s of %(b)s", {"a": 0.5, "b": 72.0}) == "0.5 of 72"
    comma = said("%(a)s of %(b)s", {"a": 0.5, "b": 72.0}, number=lambda x: str(x).replace(".", ","))
    assert comma == "0,5 of 72"


def test_a_sentence_begins_large_and_an_empty_unit_leaves_no_gap():
    assert (
        said("%(name)s: %(value)s %(unit)s is within.", {"name": "x", "value": 1.0, "unit": ""})
        == "X: 1 is within."
    )


def test_no_sentence_is_no_sentence_and_a_missing_word_is_an_error():
    assert said("", {}) == ""
    with pytest.raises(KeyError):
        said("%(name)s", {})
