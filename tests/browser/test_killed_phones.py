"""Phones whose pages, browser and line are killed while a round is sent; see tests/torture/phone.py."""

import os
import sys
from collections import Counter

import pytest
from django.test import Client

from lessons.sending.models import Submission
from tests import factories as make
from tests.torture.life import NUMBERS, QUESTION, Life, Phone
from tests.torture.line import Line

pytestmark = pytest.mark.flaky(reruns=0)  # what is lost in one of two tries is lost
FIRST, RUNS = map(int, os.environ.get("KILLED_PHONES", "1,4").split(","))
WORKER = os.environ.get("KILLED_PHONES_WORKER", "block")
LEFT = """async () => {
    const anywhere = document.querySelector("script[src*=anywhere]").src;
    const { leftBy } = await import(anywhere.replace("anywhere", "outbox"));
    return Object.values(await leftBy(document.body.dataset.person)).flat().length;
}"""


@pytest.fixture
def line(live_server):
    line = Line(live_server.thread.port)
    yield line
    line.close()


def counted(reed):
    """What is wrong with what the studio has of a reed whose round was sent once."""
    sent = Submission.objects.filter(reed=reed).with_something()
    if [one.sent_at is None for one in sent] != [False]:
        return [f"rounds: {[(one.round, one.sent_at, one.draft, one.question) for one in sent]}"]
    [only] = sent
    has = {
        "numbers": sorted(only.measurements.exclude(method="recording").values_list("quantity", flat=True)),
        "question": only.question,
        "photos": [photo.state for photo in reed.photos.all()],
        "takes": [take.state for take in reed.takes.all()],
        "sent": (only.photos.kept().count(), only.takes.kept().count()),
    }
    wanted = {
        "numbers": sorted(NUMBERS),
        **QUESTION,
        "photos": ["ready"] * 2,
        "takes": ["ready"],
        "sent": (2, 1),
    }
    return [f"{name}: {has[name]} for {wanted[name]}" for name in has if has[name] != wanted[name]]


def test_nothing_is_lost_and_nothing_doubled(playwright, line, student, tmp_path):
    killed, wrong = Counter(), []
    client = Client()
    client.force_login(student.person)
    for seed in range(FIRST, FIRST + RUNS):
        reed = make.ReedFactory(owner=student, stage="tied")
        session = client.cookies["sessionid"].value
        phone = Phone(playwright, tmp_path / f"{seed}", f"http://localhost:{line.port}", session, WORKER)
        sent = Submission.objects.filter(reed=reed).sent()
        life = Life(phone, line, student.to("lessons:draft", reed.pk), sent.exists, seed)
        try:
            life.whole()
            line.mend()
            phone.go(student.to("reeds:box"))
            phone.page.wait_for_function(f"async () => (await ({LEFT})()) === 0")
        finally:
            phone.stop()
        wrong += [f"{seed}: {one}" for one in [*life.wrong, *counted(reed)]]
        killed += life.killed
        told = "; ".join(life.wrong) or "right"
        sys.stderr.write(f"{seed}: killed {life.plan}, {life.acts} acts, {told}\n")
    sys.stdout.write(f"{RUNS} rounds sent, killed {killed.total()}: {dict(killed)}; wrong {len(wrong)}\n")
    assert not wrong, "\n".join(wrong)
