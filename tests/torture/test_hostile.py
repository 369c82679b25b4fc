"""Some of the hostile files of every kind and every bomb, through the real door; `make torture` has all."""

import socket

import pytest

from tests.torture.hostile import door, material

SMALLER = (1800, 1320)  # twenty-five times as quick as the largest that are taken


@pytest.fixture(scope="module")
def opened():
    """One pair of children for all of it; what is looked for on a photo is not the door's matter here."""
    with door.door(look=False) as made:
        yield made


@pytest.fixture
def decoys(tmp_path):
    made = door.Decoys(tmp_path)
    yield made
    made.close()


def unlike(outcomes):
    """Those that ended otherwise than with a result or a sentence of ours."""
    every = [one for of_file in outcomes for one in of_file]
    ends = (door.READ, door.REFUSED)
    return [one for one in every if one.ended not in ends or (one.ended == door.REFUSED and not one.said)]


@pytest.mark.parametrize("group", material.GROUPS)
def test_broken_files_are_read_or_refused_with_a_sentence(opened, group):
    files = list(material.broken(group, flips=6, more=2))
    assert len(files) == 10
    assert unlike(opened.sent(group.split()[0], files)) == []


@pytest.mark.parametrize("group", material.BOMBS)
def test_bombs_end_nobody_and_open_nothing_and_whole_files_are_read_after_them(opened, decoys, group):
    sort = group.split()[0]
    assert unlike(opened.sent(sort, material.bombs(group, decoys, SMALLER))) == []
    assert decoys.touched() == []
    whole = opened.sent(sort, material.whole_files(sort).items())
    assert {one[0].ended for one in whole} == {door.READ}


def test_the_decoys_notice_who_opens_them(decoys):
    """Without this, `touched` could be empty because it never sees anything."""
    decoys.path.read_bytes()
    socket.create_connection(("127.0.0.1", decoys.port)).close()
    assert decoys.touched() == ["file", "port"]


def test_the_same_seed_makes_the_same_damage():
    assert list(material.broken("take wav", 3, 1)) == list(material.broken("take wav", 3, 1))
