"""In partitions by studio a PostgreSQL answers as before, and keeps each row with its studio."""

import datetime as dt
import io
import re
from collections import Counter, defaultdict

import pytest
import time_machine
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from reeds.photo.models.photo import Photo
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.joined import between, of_studios, plan_of
from tests.sent import a_round
from tests.signed_in import session_of, signed_in, within
from tests.test_joined_by_studio import keys_within_studios
from tests.world import KNOWN, World, may_open

pytestmark = [pytest.mark.postgresql("has partitions"), pytest.mark.django_db]
PARTS = 4
# what is drawn by chance for each answer: by what a form and a script are known, keys
DRAWN = re.compile(r"\b\w{64}\b|(?<=nonce=\")[^\"]+|[\da-f]{8}(?:-[\da-f]{4}){3}-[\da-f]{12}")
FIRST_COLUMNS = """
    SELECT relname, attname FROM pg_index JOIN pg_class ON pg_class.oid = indrelid
    JOIN pg_attribute ON attrelid = indrelid AND attnum = indkey[0]
    WHERE indisunique AND relname = ANY(%s)
"""
LEADING = """
    SELECT conrelid::regclass::text, confrelid::regclass::text, here.attname, there.attname
    FROM pg_constraint JOIN pg_attribute here ON here.attrelid = conrelid AND here.attnum = conkey[1]
    JOIN pg_attribute there ON there.attrelid = confrelid AND there.attnum = confkey[1]
    WHERE contype = 'f' AND conparentid = 0
"""
PARTED = (
    "SELECT inhparent::regclass::text FROM pg_inherits JOIN pg_class ON oid = inhrelid WHERE relkind = 'r'"
)
# in which studios somebody is; and the photos of a round, to which a table leads that has no studio
OF_ALL_PARTS = {"studio_member", "reeds_photo"}
ROWS = "SELECT count(*), md5(string_agg(row, ' ' ORDER BY row)) FROM (SELECT t::text AS row FROM {} t) rows"


@pytest.fixture(autouse=True)
def the_worker_runs_at_once(monkeypatch):
    """A test's transaction is never committed, so what waits for that is done at once."""
    monkeypatch.setattr(transaction, "on_commit", lambda act, **_more: act())


@pytest.fixture(autouse=True)
def the_clock_stands():
    with time_machine.travel(dt.datetime.now(dt.UTC), tick=False):
        yield


@pytest.fixture
def world():
    return World()


def got(sql, *given):
    with connection.cursor() as cursor:
        cursor.execute(sql, given or None)
        return cursor.fetchall()


def in_partitions():
    """Lay the tables in partitions; the transaction around the test takes it back."""
    told = io.StringIO()
    call_command("split_sql", parts=PARTS, stdout=told)
    with connection.cursor() as cursor:
        cursor.execute(told.getvalue().removeprefix("BEGIN;").rstrip().removesuffix("COMMIT;"))
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def seen(world, sessions):
    """Return how every page answers who may look at it, and a teacher of another studio."""
    pages = {}
    for address in KNOWN:
        path = address.of(world)
        for who in (*may_open(address.page, world), world.stranger):
            with transaction.atomic():  # each finds the world as it was
                answer = within(sessions[who]).get(path)
                body = b"".join(answer.streaming_content) if answer.streaming else answer.content
                transaction.set_rollback(True)
            pages[address.name, who.pk] = (answer.status_code, DRAWN.sub("", body.decode(errors="replace")))
    return pages


def test_each_page_is_as_before_and_a_round_goes_there_and_back(world):
    sessions = {who: session_of(who.person) for who in (*world.cast, world.stranger)}
    before = seen(world, sessions)
    in_partitions()
    after = seen(world, sessions)
    assert len(before) > 500
    assert [page for page in before if before[page] != after[page]] == []
    for made in a_round(world):
        sent = made()
        answer = sent.by(within(sessions[sent.who]))
        assert answer.status_code == sent.status, (sent.name, answer.text)
    connection.check_constraints()


def test_every_row_stays_and_numbers_go_on(world):
    dropped = make.ReedFactory(owner=world.student, version=world.version)
    Reed.objects.filter(pk=dropped.pk).delete()
    before = {table: got(ROWS.format(table)) for table in of_studios()}
    assert sum(count > 0 for [(count, _rows)] in before.values()) > 25
    in_partitions()
    assert {table: got(ROWS.format(table)) for table in of_studios()} == before
    assert make.ReedFactory(owner=world.student, version=world.version).pk == dropped.pk + 1


def test_every_key_begins_with_the_studio():
    in_partitions()
    assert Counter(table for (table,) in got(PARTED)) == dict.fromkeys(of_studios(), PARTS)
    once = got(FIRST_COLUMNS, sorted(of_studios()))
    assert len(once) >= 40 + len(of_studios())
    assert {column for _table, column in once} == {"studio_id"}
    leading = got(LEADING)
    within_studios = [columns for _here, there, *columns in leading if there in of_studios()]
    assert len(within_studios) == len(keys_within_studios())
    assert {tuple(columns) for columns in within_studios} == {("studio_id", "studio_id")}
    # what ties two rows has no studio, and leads nowhere any more; all else is as it was
    assert [here for here, there, *_columns in leading if here in between() and there in of_studios()] == []
    assert sum(there == "studio_studio" for _here, there, *_columns in leading) == len(of_studios())


def moved(photo, reed):
    """Have a photo be of another reed, and whatever waits for the end of the transaction be looked at."""
    with transaction.atomic():
        Photo.objects.filter(pk=photo.pk).update(reed=reed)
        connection.check_constraints()


def test_a_row_of_one_studio_leads_to_no_other_studios(world):
    theirs = make.ReedFactory(owner=world.stranger)
    in_partitions()
    moved(world.photo, world.begun)
    with pytest.raises(IntegrityError, match="reeds_photo_reed_id_leads"):
        moved(world.photo, theirs)
    with pytest.raises(IntegrityError, match="_studio_id_owner_id_number_key"), transaction.atomic():
        make.ReedFactory(owner=world.student, number=world.reed.number)


def parts_read(sql):
    """Return the parts of each table that answering a SELECT looks into."""
    parts = defaultdict(set)
    with connection.cursor() as cursor:
        for step in plan_of(cursor, sql, "ANALYZE"):
            table, _line, part = step.get("Relation Name", "").rpartition("_")
            if step["Actual Loops"] and part.isdigit():
                parts[table].add(part)
    return parts


def test_the_queue_reads_its_studios_part_alone(world):
    in_partitions()
    client = signed_in(world.teacher.person)
    with CaptureQueriesContext(connection) as asked:
        assert client.get(world.teacher.to("lessons:queue")).status_code == 200
    read = [parts_read(query["sql"]) for query in asked if query["sql"].startswith("SELECT")]
    everywhere = {table for parts in read for table, some in parts.items() if len(some) > 1}
    assert everywhere == OF_ALL_PARTS
    assert {"lessons_submission", "reeds_reed"} <= {table for parts in read for table in parts}
