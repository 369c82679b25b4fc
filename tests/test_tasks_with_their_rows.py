"""A task is asked for in the transaction of the row it is about: either both are there or neither."""

import ast

import pytest
from django.db import transaction
from django_tasks_db.models import DBTaskResult

from reeds.photo.models.photo import Photo
from tests.sent import a_round
from tests.signed_in import signed_in
from tests.test_house_rules import OURS, all_hold, tree_of
from tests.world import World

TOLD = {
    "lessons:photo": "prepare_photo",
    "lessons:take": "listen",
    "lessons:go": "tell_of_round",
    "lessons:answer": "tell_of_answer",
    "lessons:reply": "tell_of_reply",
}


def tasks():
    return {one.pk: one.task_path.rsplit(".", 1)[1] for one in DBTaskResult.objects.all()}


@pytest.mark.django_db
def test_whatever_is_sent_has_its_task_before_anything_is_committed(worker_later):
    """A test's transaction is never committed: what waits for that is not done here."""
    world = World()
    asked = {}
    for made in a_round(world):
        sent, before = made(), tasks()
        assert sent.by(signed_in(sent.who.person)).status_code == sent.status, sent.name
        asked.setdefault(sent.name, []).extend(tasks()[one] for one in tasks().keys() - before.keys())
    assert {name: asked[name][0] for name in TOLD} == TOLD


@pytest.mark.django_db
def test_of_a_row_that_is_rolled_back_no_task_stays(worker_later):
    world = World()
    photo = next(sent for made in a_round(world) if (sent := made()).name == "lessons:photo")
    before = tasks()
    with transaction.atomic():
        photos = Photo.objects.count()
        assert photo.by(signed_in(photo.who.person)).status_code == photo.status
        assert (Photo.objects.count(), len(tasks())) == (photos + 1, len(before) + 1)
        transaction.set_rollback(True)
    assert tasks() == before


def tasks_after_the_commit(file):
    calls = [node for node in ast.walk(tree_of(file)) if isinstance(node, ast.Call)]
    return [f"line {call.lineno}" for call in calls if _waits(call)]


def _waits(call):
    names = {node.attr for node in ast.walk(call) if isinstance(node, ast.Attribute)}
    return {"on_commit", "enqueue"} <= names


def test_no_task_is_asked_for_once_all_is_over():
    all_hold(tasks_after_the_commit, OURS)


def test_that_rule_sees_one():
    late = ast.parse("transaction.on_commit(lambda: mail.enqueue(1))").body[0].value
    assert _waits(late)
    assert not _waits(ast.parse("mail.enqueue(1)").body[0].value)
