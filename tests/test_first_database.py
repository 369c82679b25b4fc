"""The database that every run copies: one for each state of the code, and not for ever."""

import os
import sqlite3
from contextlib import closing

import pytest

from tests import first_database
from tests.first_database import AT_MOST, FirstDatabase


@pytest.fixture
def migrated(tmp_path):
    """A database as a run's migrations leave it."""
    name = str(tmp_path / "migrated.sqlite3")
    with closing(sqlite3.connect(name)) as made:
        made.executescript("CREATE TABLE reed (number); INSERT INTO reed VALUES (7);")
    return name


@pytest.fixture
def state(monkeypatch):
    """Say which state the code is in."""
    return lambda name: monkeypatch.setattr(first_database, "state_of_the_code", lambda: name)


def test_the_first_leaves_it_and_the_next_copies_it(migrated, tmp_path):
    first = FirstDatabase(tmp_path / "kept")
    assert not first.was_there
    first.settled(migrated)
    following = FirstDatabase(tmp_path / "kept")
    assert following.was_there
    following.give(test := {}, str(tmp_path / "copy.sqlite3"))
    assert test["MIGRATE"] is False
    following.settled(str(tmp_path / "copy.sqlite3"))
    with closing(sqlite3.connect(tmp_path / "copy.sqlite3")) as copy:
        assert copy.execute("SELECT number FROM reed").fetchall() == [(7,)]


def test_other_code_has_another_one(migrated, tmp_path, state):
    state("before")
    FirstDatabase(tmp_path / "kept").settled(migrated)
    state("third")
    third = FirstDatabase(tmp_path / "kept")
    state("after")
    other = FirstDatabase(tmp_path / "kept")  # does not wait for the third, which holds its lock
    assert not other.was_there
    other.settled(migrated)
    third.lock.close()


def test_any_change_of_our_code_is_another_state(tmp_path, settings):
    state_of = first_database.state_of_the_code.__wrapped__
    settings.BASE_DIR = tmp_path
    (tmp_path / "requirements.txt").write_text("django==5.2\n")
    module = tmp_path / "reeds" / "migrations" / "0001_initial.py"
    module.parent.mkdir(parents=True)
    states = set()
    for text in ("first", "second"):
        module.write_text(text)
        states.add(state_of())
    (tmp_path / "requirements.txt").write_text("django==5.3\n")
    assert len(states | {state_of()}) == 3


def test_the_oldest_go(migrated, tmp_path, state):
    for number in range(AT_MOST + 2):
        state(f"state {number}")
        one = FirstDatabase(tmp_path / "kept")
        one.settled(migrated)
        os.utime(one.file, (number, number))
    kept = {file.stem for file in (tmp_path / "kept").glob("*.sqlite3")}
    assert len(kept) == AT_MOST
    assert f"state {AT_MOST + 1}" in kept
    assert "state 0" not in kept
