"""On PostgreSQL: it is started as it should be, and a backup of it comes back whole elsewhere."""

import os
import pwd
import subprocess
import sys
from contextlib import contextmanager
from hashlib import sha256

import psycopg
import pytest
from django.core.management import call_command
from django.db import connection

from studio.backup import manifest
from studio.backup.errors import BackupError
from studio.backup.restoring import check_backup
from tests import factories as make
from tests.studio.backing_up import everything_below
from tests.studio.serving import ROOT, environment

pytestmark = [pytest.mark.postgresql("asks a server"), pytest.mark.django_db(transaction=True)]
HEARD = "SELECT current_setting('listen_addresses'), current_setting('unix_socket_directories')"
ROWS = """SELECT md5(coalesce(string_agg(row, chr(10) ORDER BY row), ''))
FROM (SELECT t::text AS row FROM "{}" t) rows"""


@pytest.fixture(autouse=True)
def data(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "here"
    settings.DATA_DIR.mkdir()
    settings.MEDIA_ROOT = settings.DATA_DIR / "files"
    (settings.DATA_DIR / "secret_key").write_text("of this site")
    return settings.DATA_DIR


@pytest.fixture
def photo(student):
    return make.ready_photo(make.ReedFactory(owner=student))


def own_database():
    return connection.settings_dict["NAME"]


def address_of(name):
    known = connection.settings_dict
    return f"postgres://{known['USER']}:{known['PASSWORD']}@{known['HOST']}:{known['PORT']}/{name}"


@contextmanager
def empty_database():
    """One more beside the tests' own, as a new machine has it."""
    name = f"{own_database()}_restored"
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    try:
        yield address_of(name)
    finally:
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def all_rows(address):
    """Every table, and a hash of all its rows."""
    with psycopg.connect(address) as asked:
        tables = asked.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
        return {name: asked.execute(ROWS.format(name)).fetchone()[0] for (name,) in tables}


def restored(root, data, address, *words):
    command = [sys.executable, "manage.py", "restore", str(root), *words]
    given = environment(data, DATABASE_URL=address)
    return subprocess.run(command, cwd=ROOT, env=given, capture_output=True, text=True, check=False)  # noqa: S603


def test_it_listens_here_alone_to_who_knows_the_password_and_has_no_rights(db):
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT current_setting('listen_addresses'), current_setting('unix_socket_directories')"
        )
        assert cursor.fetchone() == ("127.0.0.1", "")
        cursor.execute("SELECT pg_backend_pid()")
        (pid,) = cursor.fetchone()
    owner = pwd.getpwuid(os.stat(f"/proc/{pid}").st_uid).pw_name
    assert owner == ("postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name)
    known = connection.settings_dict
    with pytest.raises(psycopg.OperationalError, match="password"):
        psycopg.connect(host=known["HOST"], port=known["PORT"], user=known["USER"], password="guessed")


def test_a_backup_comes_back_into_an_empty_database_row_by_row_and_file_by_file(photo, tmp_path, data):
    call_command("backup", tmp_path / "backups")
    check_backup(manifest.chosen(tmp_path / "backups"))
    files = everything_below(data / "files")
    assert len(files) >= 3
    with empty_database() as address:
        there = tmp_path / "there"
        ran = restored(tmp_path / "backups", there, address)
        assert ran.returncode == 0, ran.stderr
        assert all_rows(address) == all_rows(address_of(own_database()))
        assert everything_below(there / "files") == files
        assert (there / "secret_key").read_text() == "of this site"
        again = restored(tmp_path / "backups", there, address)
        assert again.returncode == 1
        assert "--over" in again.stderr
        over = restored(tmp_path / "backups", there, address, "--over")
        assert over.returncode == 0, over.stderr
        aside = next(there.glob("before-*"))
        assert everything_below(aside / "files") == files
        assert (aside / "studio.dump").stat().st_size > 1000


def test_a_dump_that_is_spoilt_is_refused_with_a_sentence(photo, tmp_path):
    call_command("backup", tmp_path / "backups")
    folder = manifest.chosen(tmp_path / "backups")
    dump = folder / "studio.dump"
    dump.write_bytes(b"x" + dump.read_bytes()[1:])
    said = manifest.read(folder)
    said.files["studio.dump"] = (dump.stat().st_size, sha256(dump.read_bytes()).hexdigest())
    said.write(folder)
    with pytest.raises(BackupError, match="pg_restore failed"):
        check_backup(folder)
