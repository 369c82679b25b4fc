"""A guardian's consent by their own hand: given, taken back, what is hidden at once and erased in time."""

from __future__ import annotations

import datetime as dt
import uuid
from pathlib import Path

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from lessons.answering.models import Mark
from lessons.sending.models import Submission
from reeds.photo.actions.photo import add_photo
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.sweep import sweep
from studio import guardians
from studio.errors import NotPossible
from studio.journal import JournalEntry
from studio.models import Member
from tests import factories as make
from tests.world import World

HIDDEN = "idden: consent was withdrawn on "


@pytest.fixture(scope="module")
def made(once):
    return once(World)


@pytest.fixture
def world(made, anew):
    return anew(made)


def withdraw(world, as_member, **given):
    guardian = world.guardian
    return as_member(guardian).post(guardian.to("take_consent_back", world.student.pk), given, follow=True)


def give(world, as_member):
    guardian = world.guardian
    return as_member(guardian).post(guardian.to("give_consent", world.student.pk), follow=True)


def child_of(world):
    return Member.objects.get(pk=world.student.pk)


def kinds():
    """Return what the journal says of consents and of what was erased, oldest first."""
    told = JournalEntry.objects.filter(happened__in=["consent", "withdrawn", "erased_pictures"])
    return list(told.order_by("pk").values_list("happened", flat=True))


# --- given and taken back ---
def test_guardian_gives_the_consent_by_their_own_hand(world, as_member):
    fellow, guardian = world.fellow, world.other_guardian
    assert not fellow.may_send_pictures
    answer = as_member(guardian).post(guardian.to("give_consent", fellow.pk), follow=True)
    assert "You consented" in answer.content.decode()
    there = Member.objects.get(pk=fellow.pk)
    assert there.may_send_pictures
    assert (there.guardian_name, there.guardian_consent_noted_by) == (str(guardian), guardian)
    assert there.guardian_consent_on == make.today()
    assert kinds() == ["consent"]


def test_where_a_guardian_signs_in_no_teacher_notes_the_consent(world, as_member):
    teacher, fellow = world.teacher, world.fellow
    given = {"guardian_name": "Somebody", "given_on": "2026-01-31"}
    answer = as_member(teacher).post(teacher.to("consent", fellow.pk), given)
    assert answer.status_code == 422
    assert "by their own hand" in answer.content.decode()
    assert not Member.objects.get(pk=fellow.pk).has_consent


def test_only_the_childs_guardian_gives_or_takes_it(world):
    for act in (guardians.give_consent, guardians.withdraw_consent):
        for by in (world.other_guardian, world.assistant, world.student):
            with pytest.raises(NotPossible, match="Only a guardian of this student"):
                act(world.student, by)
    assert child_of(world).has_consent


def test_taking_back_what_was_never_given_says_so(world, as_member):
    fellow, guardian = world.fellow, world.other_guardian
    answer = as_member(guardian).post(guardian.to("take_consent_back", fellow.pk), follow=True)
    assert "no consent that could be taken back" in answer.content.decode()
    refused = as_member(guardian).post(guardian.to("erase_hidden", fellow.pk), follow=True)
    assert "Only what is hidden is erased" in refused.content.decode()
    assert kinds() == []


def test_taken_back_twice_it_is_taken_back_once(world, as_member):
    withdraw(world, as_member)
    first = child_of(world).guardian_consent_withdrawn_at
    withdraw(world, as_member)
    assert child_of(world).guardian_consent_withdrawn_at == first
    assert kinds() == ["withdrawn"]


# --- hidden at once, for everybody, and said in its place ---
PLACES = (
    ("student", "reeds:reed", "reed"),
    ("student", "lessons:round", "answered"),
    ("student", "lessons:draft", "begun"),
    ("guardian", "reeds:reed", "reed"),
    ("guardian", "lessons:round", "answered"),
    ("guardian", "reeds:take", "take"),
    ("assistant", "lessons:review", "waiting"),
    ("teacher", "reeds:reed", "reed"),
    ("teacher", "lessons:review", "waiting"),
    ("teacher", "lessons:round", "answered"),
    ("teacher", "reeds:take", "take"),
    ("teacher", "reeds:measure", "photo"),
    ("teacher", "reeds:opening", "photo"),
    ("teacher", "lessons:term", "student"),
)


def test_what_is_hidden_is_said_in_its_place(world, as_member):
    for hidden in (False, True):
        if hidden:
            withdraw(world, as_member)
        for who, name, what in PLACES:
            member = getattr(world, who)
            page = as_member(member).get(member.to(name, getattr(world, what).pk)).content.decode()
            assert (HIDDEN in page) is hidden, (who, name)
            if hidden:
                assert f'src="/studio/{world.studio.pk}/takes/' not in page, (who, name)
                # a picture of the page's own furniture is no photo
                assert "/photos/" not in "".join(part.split(">")[0] for part in page.split("<img")[1:])


def test_the_files_go_out_to_nobody(world, as_member):
    asked = [
        ("reeds:photo", [world.photo.pk, "screen"]),
        ("reeds:photo", [world.measured.pk, "upright"]),
        ("reeds:flat", [world.measured.pk]),
        ("reeds:take_sound", [world.take.pk]),
    ]
    who = (world.student, world.guardian, world.assistant, world.teacher)

    def statuses():
        answers = [as_member(one).get(one.to(name, *args)) for one in who for name, args in asked]
        for answer in answers:
            if answer.streaming:
                list(answer.streaming_content)  # read to the end, which closes the file
        return {answer.status_code for answer in answers}

    assert statuses() == {200}
    withdraw(world, as_member)
    assert statuses() == {404}
    picture = as_member(world.teacher).get(world.teacher.to("reeds:photo", world.photo.pk, "screen"))
    assert HIDDEN in picture.content.decode()


def test_a_browser_that_has_the_photo_asks_before_it_shows_it(world, as_member):
    teacher, url = world.teacher, world.teacher.to("reeds:photo", world.photo.pk, "screen")
    client = as_member(teacher)
    first = client.get(url)
    list(first.streaming_content)
    assert "no-cache" in first["Cache-Control"]
    assert client.get(url, headers={"If-None-Match": first["ETag"]}).status_code == 304
    withdraw(world, as_member)
    assert client.get(url, headers={"If-None-Match": first["ETag"]}).status_code == 404


def test_marks_and_an_export_made_before_are_hidden_too(world, as_member):
    student, teacher = world.student, world.teacher
    assert Mark.objects.visible_to(teacher).exists()
    export = student.to("lessons:export_file", world.export.pk)
    assert b"".join(as_member(student).get(export).streaming_content)
    withdraw(world, as_member)
    assert not Mark.objects.visible_to(teacher).exists()
    assert as_member(student).get(export).status_code == 404


def test_nothing_is_marked_on_what_is_hidden(world, as_member):
    """A page that was open before may still show the photo."""
    photo = world.waiting.photos.first()
    withdraw(world, as_member)
    mark = {**make.drawn(), "photo": photo.pk, "key": str(uuid.uuid4())}
    put = world.teacher.to("lessons:mark", world.waiting.pk)
    answer = as_member(world.teacher).post(put, mark, content_type="application/json")
    assert answer.status_code == 422
    assert HIDDEN in answer.json()["refusal"]


def test_the_queue_says_hidden(world, as_member):
    withdraw(world, as_member)
    page = as_member(world.teacher).get(world.teacher.to("lessons:queue")).content.decode()
    assert ">hidden<" in page


# --- uploads are refused, numbers go ---
def test_photos_are_refused_with_a_sentence_and_numbers_go(world, as_member):
    student = world.student
    withdraw(world, as_member)
    send = student.to("lessons:photo", world.begun.pk)
    photo = SimpleUploadedFile("reed.jpg", make.picture())
    answer = as_member(student).post(send, {"photo": photo, "key": str(uuid.uuid4())})
    assert answer.status_code == 422
    assert "took the consent" in answer.content.decode()
    tied = {"tie_length": "72", "tie_length-method": "ruler"}
    assert as_member(student).post(student.to("reeds:numbers", world.begun.pk), tied).status_code == 302
    assert Measurement.objects.filter(reed=world.begun, quantity="tie_length", value=72).exists()
    # nor does a teacher send photos of that student's reed
    upload = SimpleUploadedFile("reed.jpg", make.picture())
    with pytest.raises(NotPossible, match="back on"):
        add_photo(Reed.objects.get(pk=world.begun.pk), world.teacher, upload, uuid.uuid4())


# --- given again, or erased ---
def test_given_again_all_is_shown_again(world, as_member):
    withdraw(world, as_member)
    give(world, as_member)
    page = as_member(world.teacher).get(world.teacher.to("lessons:review", world.waiting.pk))
    assert HIDDEN not in page.content.decode()
    assert Mark.objects.visible_to(world.teacher).exists()


def stored(world):
    return [
        *(file.path for file in world.photo.files),
        *(file.path for file in world.take.files),
        world.measured.measuring.flat.path,
        world.voice.sound.path,
    ]


def count_what_stays(world):
    """Numbers, rounds, and how many photos and recordings each sent one had; a draft goes on without them."""
    reeds = {"reed__owner": world.student}
    return (
        Measurement.objects.filter(**reeds).count(),
        Submission.objects.filter(**reeds).count(),
        sum(one.photos.count() + one.takes.count() for one in Submission.objects.sent().filter(**reeds)),
    )


def test_at_once_if_the_guardian_says_so(world, as_member, django_capture_on_commit_callbacks):
    Measurement.objects.create(
        studio=world.studio,
        reed=world.reed,
        by=world.student,
        quantity="tie_length",
        value=72,
        u=0.1,
        method="caliper",
    )
    before, files = count_what_stays(world), stored(world)
    assert all(Path(one).exists() for one in files)
    with django_capture_on_commit_callbacks(execute=True):
        answer = withdraw(world, as_member, at_once="on")
    assert "are erased" in answer.content.decode()
    assert not [one for one in files if Path(one).exists()]
    assert not Mark.objects.filter(answer__submission__student=world.student).exists()
    assert count_what_stays(world) == before
    assert kinds() == ["withdrawn", "erased_pictures"]


def test_after_thirty_days_the_worker_erases_and_not_before(
    world, as_member, django_capture_on_commit_callbacks
):
    """Own arithmetic: taken back on 1 March at noon, 30 days later is 31 March at noon."""
    with time_machine.travel("2026-03-01T12:00:00Z", tick=False):
        withdraw(world, as_member)
    files = stored(world)
    with django_capture_on_commit_callbacks(execute=True):
        sweep(dt.datetime(2026, 3, 31, 11, tzinfo=dt.UTC))
    assert all(Path(one).exists() for one in files)
    assert child_of(world).erased_on == dt.datetime(2026, 3, 31, 12, tzinfo=dt.UTC)
    with django_capture_on_commit_callbacks(execute=True):
        sweep(dt.datetime(2026, 3, 31, 13, tzinfo=dt.UTC))
        sweep(dt.datetime(2026, 4, 1, 13, tzinfo=dt.UTC))
    assert not [one for one in files if Path(one).exists()]
    assert kinds().count("erased_pictures") == 1
    # whoever consents later does so to what comes from then on
    give(world, as_member)
    there = child_of(world)
    assert (there.may_send_pictures, there.pictures_erased_at) == (True, None)


def test_given_again_in_time_nothing_is_erased(world, as_member):
    with time_machine.travel("2026-03-01T12:00:00Z", tick=False):
        withdraw(world, as_member)
    with time_machine.travel("2026-03-20T12:00:00Z", tick=False):
        give(world, as_member)
    sweep(dt.datetime(2026, 5, 1, tzinfo=dt.UTC))
    assert "erased_pictures" not in kinds()


def test_a_teacher_notes_a_withdrawal_that_was_said_on_the_phone(world, as_member):
    teacher = world.teacher
    as_member(teacher).post(teacher.to("withdraw_consent", world.student.pk))
    assert child_of(world).hidden_since is not None
    page = as_member(teacher).get(teacher.to("member", world.student.pk)).content.decode()
    assert "hidden from everybody" in page
    assert str(world.guardian) in page
