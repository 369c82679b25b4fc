"""What is sent joins other studios' rows no more than what is looked at: see `test_pages_only_read`."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from tests.joined import joins, looked_through, without_studio
from tests.sent import a_round
from tests.signed_in import signed_in
from tests.world import KNOWN, World, may_open

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def the_worker_runs_at_once(monkeypatch):
    """A test's transaction is never committed, so what waits for that is done at once."""
    monkeypatch.setattr(transaction, "on_commit", lambda act, **_more: act())


def asked_by(send):
    """Return the answer, and the statements of coming to it."""
    with CaptureQueriesContext(connection) as asked:
        answer = send()
    return answer, [query["sql"] for query in asked]


def faults(asked):
    """Return what statements join by their key alone or look through whole, each once, and how many joins."""
    told = set(asked)
    found = {one for sql in told for one in without_studio(sql)}
    found |= {f"{table}: {sql}" for sql in told for table in looked_through(sql)}
    return sorted(found), sum(map(joins, asked))


def test_a_round_that_is_typed_sent_and_answered():
    world = World()
    clients = {who: signed_in(who.person) for who in world.cast}
    wrong, joined = {}, 0
    for made in a_round(world):
        sent = made()
        answer, asked = asked_by(lambda sent=sent: sent.by(clients[sent.who]))
        assert answer.status_code == sent.status, (sent.name, answer.text)
        found, some = faults(asked)
        joined += some
        wrong |= {sent.name: found} if found else {}
    assert wrong == {}
    assert joined > 150  # it saw them


def test_a_form_with_nothing_in_it_at_every_address():
    world = World()
    wrong, joined = {}, 0
    for address in KNOWN:
        path = address.of(world)
        for who in {*may_open(address.page, world)[:1], *may_open(address.page, world)[-1:]}:
            client = signed_in(who.person)
            with transaction.atomic():  # each finds the world as it was
                answer, asked = asked_by(lambda path=path, client=client: client.post(path))
                assert answer.status_code < 500
                found, some = faults(asked)
                transaction.set_rollback(True)
            joined += some
            wrong |= {address.name: found} if found else {}
    assert wrong == {}
    assert joined > 500
