"""The demo's finished term says the same whatever the day on which it is loaded."""

from __future__ import annotations

import datetime as dt

import pytest

from lessons.demo.truth import MAKERS
from lessons.term.said import said_of
from tests.lessons.demo.claims import CLAIMS, claimed
from tests.lessons.demo.finished import finished_term


@pytest.mark.parametrize("today", ["2026-03-05", "2026-08-20", "2027-01-02"])
def test_of_each_hand_that_is_said_which_is_true_and_nothing_else(db, monkeypatch, today):
    moment = dt.datetime.fromisoformat(f"{today}T10:00+00:00")
    monkeypatch.setattr("django.utils.timezone.now", lambda: moment)
    finished = finished_term()
    for maker in MAKERS:
        said = claimed(said_of(finished.term, finished.teacher, finished.of(maker)))
        assert {(one.topic, one.manner) for one in said} == CLAIMS[maker.username], maker.username
