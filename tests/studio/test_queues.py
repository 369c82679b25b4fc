"""What takes long in one queue keeps nobody of another waiting; of several hands one gets a task."""

import threading
import time

import pytest
from django.conf import settings
from django.core import mail
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django_tasks_db.models import DBTaskResult

from reeds.photo.models.photo import Photo, PhotoState
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.tasks.prepare import prepare_photo
from reeds.take.models import Take, TakeState
from reeds.take.tasks import listen
from studio import queues
from studio.models import Invitation, Mailing
from studio.tasks import mail_invitation
from studio.worker import put_back_stale
from tests import factories as make
from tests.studio.test_tasks_end import modules_of_tasks

PATIENCE_S = 300
PREPARE = "reeds.photo.tasks.prepare.prepare_photo"
NEVER = threading.Event()


def wait_until(condition, what):
    until = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < until, f"waited in vain: {what}"
        NEVER.wait(0.02)


def photo_of(reed):
    photo = Photo(studio=reed.studio, reed=reed, by=reed.owner)
    photo.raw.save("raw.jpg", ContentFile(b"no picture"), save=True)
    prepare_photo.enqueue(photo.pk)
    return photo


def take_of(reed):
    take = Take(studio=reed.studio, reed=reed, by=reed.owner, item="tuning")
    take.raw.save("raw.m4a", ContentFile(b"no sound"), save=True)
    listen.enqueue(take.pk)
    return take


def letter_of(teacher):
    given = {"studio": teacher.studio, "invited_by": teacher, "mailing": Mailing.WAITING}
    invitation = Invitation.objects.create(name="x", email="x@example.org", **given)
    mail_invitation.enqueue(invitation.pk)
    return invitation


@pytest.fixture
def at_work():
    """The hands of every queue at work, as the worker has them, until the test is over."""
    stopped = threading.Event()
    threads = []

    def begin():
        for hand in queues.hands(settings.QUEUES, stopped, 0.02):
            threads.append(threading.Thread(target=hand.run))
            threads[-1].start()

    yield begin
    stopped.set()
    for thread in threads:
        thread.join(PATIENCE_S)


@pytest.fixture
def slow(monkeypatch):
    """Pictures whose working takes until the test says so: a set of their numbers, and what ends them."""
    held, let_go = set(), threading.Event()
    real = prepare_photo.func.__globals__["_prepared"]

    def prepared(photo):
        if photo.pk in held:
            assert let_go.wait(PATIENCE_S)
        return real(photo)

    monkeypatch.setattr("reeds.photo.tasks.prepare._prepared", prepared)
    yield held, let_go
    let_go.set()


def states(model, rows):
    return [model.objects.get(pk=row.pk).state for row in rows]


@pytest.mark.django_db(transaction=True)
def test_pictures_that_take_all_their_time_hold_up_neither_mail_nor_a_take(
    teacher, worker_later, at_work, slow
):
    held, let_go = slow
    reed = make.ReedFactory(owner=make.student(studio=teacher.studio))
    photos = [photo_of(reed) for _hand in range(settings.QUEUES["pictures"])]
    held.update(photo.pk for photo in photos)
    take, letter = take_of(reed), letter_of(teacher)
    at_work()
    wait_until(lambda: states(Take, [take]) == [TakeState.REFUSED], "the take is heard")
    wait_until(lambda: Invitation.objects.get(pk=letter.pk).mailing == Mailing.SENT, "the invitation is sent")
    wait_until(lambda: DBTaskResult.objects.running().count() == len(photos), "all pictures are begun")
    assert len(mail.outbox) == 1
    assert set(states(Photo, photos)) == {PhotoState.WAITING}
    let_go.set()
    wait_until(lambda: set(states(Photo, photos)) == {PhotoState.REFUSED}, "the pictures end as well")


@pytest.mark.django_db(transaction=True)
def test_one_picture_that_takes_all_its_time_holds_up_no_other(student, worker_later, at_work, slow):
    held, _let_go = slow
    reed = make.ReedFactory(owner=student)
    photos = [photo_of(reed) for _each in range(4)]
    held.add(photos[0].pk)
    at_work()
    wait_until(lambda: set(states(Photo, photos[1:])) == {PhotoState.REFUSED}, "the other three")
    assert states(Photo, photos[:1]) == [PhotoState.WAITING]


def test_every_task_has_a_queue_with_hands():
    for module in modules_of_tasks():
        for name in module.GIVEN_UP:
            assert settings.QUEUES[getattr(module, name).queue_name] > 0


@pytest.fixture
def hand():
    return queues.Hand(["pictures"], threading.Event(), 0)


@pytest.fixture
def waiting_photo(student, worker_later):
    return photo_of(make.ReedFactory(owner=student))


@pytest.mark.django_db(transaction=True)
def test_of_many_hands_that_look_at_once_each_task_is_taken_by_one(student, worker_later):
    for _each in range(12):
        photo_of(make.ReedFactory(owner=student))
    together, taken = threading.Barrier(4), []

    def take():
        hand = queues.Hand(["pictures"], threading.Event(), 0)
        together.wait(PATIENCE_S)
        while task := hand._taken():
            taken.append((task.pk, hand.worker_id))
        connection.close()

    threads = [threading.Thread(target=take) for _hand in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({pk for pk, _hand in taken}) == len(taken) == 12
    assert {row.pk: row.worker_ids for row in DBTaskResult.objects.running()} == {
        pk: [worker_id] for pk, worker_id in taken
    }


@pytest.mark.django_db
def test_what_was_put_off_has_its_turn_as_if_it_had_come_then(waiting_photo, student):
    for _more in range(2):
        photo_of(make.ReedFactory(owner=student))
    poison, second, third = DBTaskResult.objects.order_by("enqueued_at")
    moment = second.enqueued_at + (third.enqueued_at - second.enqueued_at) / 2
    DBTaskResult.objects.filter(pk=poison.pk).update(run_after=moment)
    assert [row.pk for row in queues.waiting(["pictures"])] == [second.pk, poison.pk, third.pk]


@pytest.mark.django_db
def test_a_task_whose_end_cannot_be_written_goes_back_and_the_hand_goes_on(
    waiting_photo, hand, monkeypatch, caplog
):
    def full(*_given):
        raise OperationalError("database or disk is full")

    with monkeypatch.context() as disk:
        disk.setattr(DBTaskResult, "set_successful", full)
        disk.setattr(DBTaskResult, "set_failed", full)
        assert hand.work_one()
    assert DBTaskResult.objects.get(task_path=PREPARE).status == "RUNNING"
    assert "did not end" in caplog.text
    assert put_back_stale() == 1
    hand.run_all()
    assert set(DBTaskResult.objects.values_list("status", flat=True)) == {"SUCCESSFUL"}


@pytest.mark.django_db
def test_a_hand_that_cannot_look_looks_again(waiting_photo, hand, monkeypatch, caplog):
    def locked(_queues):
        raise OperationalError("database is locked")

    with monkeypatch.context() as database:
        database.setattr(queues, "waiting", locked)
        assert not hand.work_one()
    assert "database is locked" in caplog.text
    assert hand.work_one()


@pytest.mark.django_db(transaction=True)
def test_a_worker_for_one_queue_leaves_the_others_alone(waiting_photo, teacher):
    letter_of(teacher)
    call_command("work", batch=True, queue=["mail"])
    assert len(mail.outbox) == 1
    assert [row.queue_name for row in DBTaskResult.objects.ready()] == ["pictures"]
    with pytest.raises(CommandError, match="invalid choice: 'post'"):
        call_command("work", "--batch", "--queue", "post")


@pytest.mark.django_db
def test_a_photo_is_made_ready_before_the_card_on_another_is_looked_for(worker_later, student):
    look_at_photo.enqueue(1)
    photo_of(make.ReedFactory(owner=student))
    assert [row.task_path.rpartition(".")[2] for row in queues.waiting(["pictures"])] == [
        "prepare_photo",
        "look_at_photo",
    ]
