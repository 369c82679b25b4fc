"""Whether a backup holds is found out by bringing it back, and a spoilt one is refused with a sentence."""

import sqlite3
from contextlib import closing

import pytest
from django.core.management import CommandError, call_command

from studio.backup import manifest
from studio.backup.errors import BackupError
from studio.backup.making import make_backup
from studio.backup.restoring import check_backup
from tests import factories as make
from tests.studio.backing_up import note_anew

pytestmark = pytest.mark.django_db(transaction=True)
OF_A_FILE = pytest.mark.sqlite("looks into its file; tests/services/test_backed_up.py has the other's")


@pytest.fixture(autouse=True)
def root(settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "files"  # where a command looks for them
    return tmp_path / "backups"


@pytest.fixture
def photo(student):
    return make.ready_photo(make.ReedFactory(owner=student))


def flip(file):
    file.write_bytes(bytes([file.read_bytes()[0] ^ 1]) + file.read_bytes()[1:])


def lose_a_row(folder):
    with closing(sqlite3.connect(folder / "studio.sqlite3")) as copy, copy:
        copy.execute("DELETE FROM reeds_photo")


def tear_the_database(folder):
    file = folder / "studio.sqlite3"
    content = bytearray(file.read_bytes())
    content[4096:40960] = bytes(36864)
    file.write_bytes(content)


@OF_A_FILE
def test_a_good_one_is_said_to_hold(photo, root, capsys):
    make_backup(root, keep=7)
    call_command("backup", root, check=True)
    assert "holds" in capsys.readouterr().out
    assert len(list(root.iterdir())) == 1  # the place it was restored to is gone


@OF_A_FILE
@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda folder: flip(next((folder / "files").rglob("*.jpg"))), "its hash does not hold"),
        (lambda folder: flip(folder / "studio.sqlite3"), "its hash does not hold"),
        (lambda folder: next((folder / "files").rglob("*.jpg")).unlink(), "cannot be read in this backup"),
        (lambda folder: (folder / "manifest.json").write_text("[]"), "cannot be read"),
        (lambda folder: (folder / "manifest.json").unlink(), "There is no backup"),
        (lambda folder: note_anew(folder, lose_a_row), "reeds_photo has 0 rows, 1 were backed up"),
        (lambda folder: note_anew(folder, tear_the_database), "The database is damaged"),
    ],
    ids=["file", "database", "file gone", "manifest", "no manifest", "rows", "pages"],
)
def test_a_spoilt_one_is_refused_with_a_sentence(photo, root, spoil, sentence):
    spoil(make_backup(root, keep=7))
    with pytest.raises(CommandError, match=sentence):
        call_command("backup", root, check=True)


def test_a_manifest_that_leads_elsewhere_is_refused(root):
    made = make_backup(root, keep=7)
    said = manifest.read(made)
    said.files["../../outside"] = (0, "")
    said.write(made)
    with pytest.raises(BackupError, match="lies outside"):
        check_backup(made)
