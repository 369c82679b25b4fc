"""A backup is brought back whole or not at all, by the command, on data of its own."""

import signal
import sqlite3
import urllib.request
from contextlib import closing

import pytest

from studio.backup import manifest
from studio.backup.making import make_backup
from tests import factories as make
from tests.studio.backing_up import copy_of_the_site, everything_below, killed_at, manage
from tests.studio.serving import PATIENCE_S, environment, start, stop, wait_until

pytestmark = [
    pytest.mark.sqlite("what comes back is its file; tests/services/test_postgresql.py has the other's"),
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture
def photo(student):
    return make.ready_photo(make.ReedFactory(owner=student))


@pytest.fixture
def backup(settings, tmp_path, photo):
    settings.DATA_DIR = tmp_path
    (tmp_path / "secret_key").write_text("of this site")
    (tmp_path / "push_key").write_text("for its notices")
    return make_backup(tmp_path / "backups", keep=7)


def names_of_people(data):
    with closing(sqlite3.connect(data / "studio.sqlite3")) as rows:
        return {name for (name,) in rows.execute("SELECT username FROM studio_person")}


def test_it_comes_back_whole_and_is_not_written_over_unless_told(backup, tmp_path, photo):
    data = tmp_path / "new"
    code, said = manage(data, "restore", backup.parent)
    assert (code, "is restored" in said) == (0, True), said
    assert everything_below(data / "files") == everything_below(backup / "files") != {}
    assert names_of_people(data) == names_of_people(backup) != set()
    assert (data / "secret_key").read_text() == "of this site"
    assert (data / "push_key").read_text() == "for its notices"
    for secret in ("secret_key", "push_key"):
        assert (data / secret).stat().st_mode & 0o777 == 0o600

    (data / "files" / "later").write_text("sent since")
    before = everything_below(data)
    code, said = manage(data, "restore", backup)
    assert (code, "is not empty" in said) == (1, True), said
    assert everything_below(data) == before

    code, said = manage(data, "restore", backup, "--over")
    assert code == 0, said
    (aside,) = data.glob("before-*")
    assert str(aside) in said
    assert (aside / "files" / "later").read_text() == "sent since"
    assert names_of_people(aside) == names_of_people(data)
    assert everything_below(data / "files") == everything_below(backup / "files")


def test_a_spoilt_one_touches_nothing(backup, tmp_path, settings):
    data = tmp_path / "old"
    copy_of_the_site(data, settings.MEDIA_ROOT)
    (data / "secret_key").write_text("the old one")
    before = everything_below(data)
    with (backup / "studio.sqlite3").open("ab") as file:
        file.write(b"x")
    code, said = manage(data, "restore", backup, "--over")
    assert (code, "its hash does not hold" in said) == (1, True), said
    assert everything_below(data) == before


def test_under_a_running_studio_nothing_is_replaced(backup, tmp_path, settings):
    data = tmp_path / "old"
    copy_of_the_site(data, settings.MEDIA_ROOT)
    with closing(sqlite3.connect(data / "studio.sqlite3")) as other:
        other.execute("PRAGMA journal_mode=WAL")
        other.execute("SELECT COUNT(*) FROM studio_person").fetchall()
        code, said = manage(data, "restore", backup, "--over")
    assert (code, "stop it first" in said) == (1, True), said
    assert not list(data.glob("before-*"))


@pytest.mark.parametrize(
    "point",
    [
        ("studio.backup.restoring", "lay_out", 1, "after"),
        ("studio.backup.restoring", "put_aside", 1, "after"),
        ("shutil", "move", 1, "after"),
        ("shutil", "move", 3, "after"),
    ],
    ids=["laid out", "all aside", "files aside", "files in"],
)
def test_killed_at_any_point_nothing_is_lost_and_once_more_brings_it_back(backup, tmp_path, settings, point):
    data = tmp_path / "old"
    copy_of_the_site(data, settings.MEDIA_ROOT)
    (data / "files" / "later").write_text("sent since")
    before = everything_below(data / "files")
    people = names_of_people(data)
    assert killed_at(point, ("restore", backup, "--over"), data) == -signal.SIGKILL
    code, said = manage(data, "restore", backup, "--over")
    assert code == 0, said
    assert everything_below(data / "files") == everything_below(backup / "files")
    asides = sorted(data.glob("before-*"))
    assert before in [everything_below(aside / "files") for aside in asides]
    assert people in [names_of_people(aside) for aside in asides if (aside / "studio.sqlite3").exists()]
    assert not (data / ".restoring").exists()


def test_no_backup_is_a_sentence(tmp_path):
    code, said = manage(tmp_path / "new", "restore", tmp_path)
    assert code == 1
    assert "There is no backup in" in said
    assert "Traceback" not in said


def serving(data, output, **given):
    surroundings = environment(data, DEMO="0", WEB_WORKERS="1", **given)
    process = start(surroundings, output)
    wait_until(lambda: "The studio is at" in output.read_text(), process)
    return process, f"http://127.0.0.1:{surroundings['PORT']}"


def test_a_served_studio_is_backed_up_by_its_worker_and_by_hand_and_served_again(photo, tmp_path, settings):
    data, root, new = tmp_path / "data", tmp_path / "backups", tmp_path / "new"
    copy_of_the_site(data, settings.MEDIA_ROOT)
    process, _address = serving(data, tmp_path / "said", BACKUP_DIR=str(root))
    try:
        wait_until(lambda: manifest.whole(root), process)
        first = manifest.whole(root)
        code, said = manage(data, "backup", root)
        assert code == 0, said
        assert len(manifest.whole(root)) == len(first) + 1
    finally:
        stop(process)
    assert manage(data, "backup", "--check", root)[0] == 0
    code, said = manage(new, "restore", root)
    assert code == 0, said
    assert (new / "secret_key").read_text() == (data / "secret_key").read_text()
    process, address = serving(new, tmp_path / "said again")
    try:
        with urllib.request.urlopen(address, timeout=PATIENCE_S) as page:  # noqa: S310
            assert b"csrfmiddlewaretoken" in page.read()
    finally:
        stop(process)
    assert names_of_people(new) == names_of_people(data)
    assert everything_below(data / "files") == everything_below(new / "files") != {}
