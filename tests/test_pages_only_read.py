"""Looking at a page changes nothing: every address is got by everybody, no row written, no file decoded.

Nor does it look through other studios' rows: what it joins of a studio it joins by the studio, and there is
an index for whatever it asks.
"""

import re

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from reeds.sheet.models.pattern import Pattern
from studio.journal import JournalEntry
from tests import factories as make
from tests.joined import joins, looked_through, without_studio
from tests.signed_in import signed_in
from tests.world import KNOWN, World

pytestmark = pytest.mark.django_db
WRITES = re.compile(r"\s*(?:INSERT|UPDATE|DELETE|REPLACE|CREATE|ALTER|DROP)\b", re.IGNORECASE)

# named exception: that a photo, a recording or a round was opened is itself written down, and only added
JOURNAL = re.compile(r"INSERT\b[^(]*\b" + JournalEntry._meta.db_table + r"\b")


def asked_by(client, path):
    """Return the statements of getting a page."""
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(path)
        if answer.streaming:
            list(answer.streaming_content)  # read to the end, which closes the file
    return [query["sql"] for query in asked]


def writes(statements):
    return [sql for sql in statements if WRITES.match(sql) and not JOURNAL.match(sql)]


def written_by(client, path):
    return writes(asked_by(client, path))


def test_no_page_writes_or_decodes_or_joins_other_studios_when_it_is_got(watch_decoders):
    """One walk, since it is long: all that every page asks, seen in the SQL."""
    world = World()
    decoded = watch_decoders()
    clients = [Client(), *(signed_in(member.person) for member in (*world.cast, world.stranger))]
    writing, mixing, whole, joined = {}, {}, {}, 0
    for address in KNOWN:
        path = address.of(world)
        with transaction.atomic():  # each finds the world as it was
            asked = [sql for client in clients for sql in asked_by(client, path)]
            transaction.set_rollback(True)
        joined += sum(map(joins, asked))
        if found := writes(asked):
            writing[address.name] = found
        if found := {one for sql in set(asked) for one in without_studio(sql)}:
            mixing[address.name] = found
        if found := {sql: tables for sql in set(asked) if (tables := looked_through(sql))}:
            whole[address.name] = found
    assert writing == {}
    assert mixing == {}
    assert whole == {}
    assert joined > 1000  # it saw them
    assert decoded == []


def test_that_test_sees_what_it_should():
    with CaptureQueriesContext(connection) as asked:
        make.StudioFactory().delete()
    assert [bool(WRITES.match(query["sql"])) for query in asked].count(True) >= 2


@pytest.mark.parametrize("name", ["reeds:patterns", "reeds:make"])
def test_a_studio_without_a_sheet_is_given_the_starters_once(name):
    """Named exception: reeds cannot be made without a sheet, and studios know nothing of sheets."""
    teacher = make.teacher()
    client = signed_in(teacher.person)
    first, second = (written_by(client, teacher.to(name)) for _look in range(2))
    assert {sql.split('"')[1] for sql in first} == {"reeds_pattern", "reeds_patternversion"}
    assert second == []
    assert Pattern.objects.filter(studio=teacher.studio).exists()
