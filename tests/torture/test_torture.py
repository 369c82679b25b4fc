"""A minute of the kill run: everything is killed at least once, and nothing that was acknowledged is lost."""

import sqlite3
from contextlib import closing

import pytest
from django.db import connection

from tests.torture.faults import KINDS
from tests.torture.run import Run

SECONDS, KILLS = 60, 8


@pytest.fixture
def empty_database(django_db_setup):
    """Return what puts a migrated database into a folder: to migrate one anew takes half a minute."""

    def put(folder):
        with (
            closing(sqlite3.connect(connection.settings_dict["NAME"])) as empty,
            closing(sqlite3.connect(folder / "studio.sqlite3")) as copy,
        ):
            empty.backup(copy)

    return put


def test_whatever_dies_for_a_minute_nothing_acknowledged_is_lost_doubled_or_stuck(tmp_path, empty_database):
    run = Run(tmp_path, SECONDS, KILLS)
    report = run.whole(empty_database)
    said = f"{report.text}\nthe studio said:\n{run.site.said.read_text()[-6000:]}"
    assert report.wrong == [], said
    assert set(report.killed) == set(KINDS), said
    assert len(report.began) == 6, said
