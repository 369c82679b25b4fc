"""Photos and recordings erased for good: files, marks and spoken notes go, numbers and counts stay."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from lessons.answering.models import Answer, Mark
from lessons.demonstration.models import Demonstration
from lessons.erasing.actions import erase_pictures_of_reeds
from lessons.export.models import Export
from lessons.letter.models import Letter
from lessons.sending.models import Submission
from lessons.voice.models import Voice
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.sweep import HELD, sweep
from reeds.take.models import Take
from studio.erasing import erase_pictures
from studio.journal import Happened, JournalEntry
from tests import factories as make

pytestmark = pytest.mark.django_db


def numbers():
    """What figures are made of."""
    return sorted(Measurement.objects.values_list("quantity", "value", "word", "photo", "take"))


def in_rows(word):
    """Whether a word stands in any mark or measuring."""
    rows = [*Mark.objects.values_list("annotation", flat=True), *PhotoMeasuring.objects.values("landmarks")]
    return word in json.dumps(rows)


def test_all_files_and_marks_of_a_person_go_and_their_numbers_stay(cast, files, after_commit):
    before, rounds = numbers(), Submission.objects.count()
    with after_commit():
        erase_pictures(cast["student"], cast["teacher"])
        assert files() == {"QMINEQ", "QTHEIRSQ"}  # nothing goes before it is sure
    assert files() == {"QTHEIRSQ"}
    assert not in_rows("QMINEQ")
    assert in_rows("QTHEIRSQ")
    assert (numbers(), Submission.objects.count()) == (before, rounds)
    assert Photo.objects.erased().count() == Take.objects.erased().count() == 1
    assert {
        answer.voice is None for answer in Answer.objects.filter(submission__student=cast["student"])
    } == {True}
    assert Voice.objects.count() == 1
    (told,) = JournalEntry.objects.filter(happened=Happened.ERASED_PICTURES)
    assert (told.by, told.whose) == (cast["teacher"], cast["student"])


def test_what_a_killed_process_leaves_is_swept(cast, files):
    erase_pictures(cast["student"], None)  # and nothing of what is to be done after the commit
    assert files() == {"QMINEQ", "QTHEIRSQ"}
    sweep(timezone.now() + dt.timedelta(days=2))
    assert files() == {"QTHEIRSQ"}


def test_twice_is_once(cast, after_commit):
    with after_commit():
        erase_pictures(cast["student"], cast["teacher"])
    first = Photo.objects.erased().get().erased_at
    with after_commit():
        erase_pictures(cast["student"], None)
    assert Photo.objects.erased().get().erased_at == first


def test_only_these_reeds(cast, files, after_commit):
    second = make.ReedFactory(owner=cast["student"])
    kept = make.ready_photo(second)
    with after_commit():
        erase_pictures_of_reeds(Reed.objects.filter(owner=cast["student"]).exclude(pk=second.pk))
    assert Photo.objects.kept().filter(reed__owner=cast["student"]).get() == kept
    assert default_storage.exists(str(kept.upright.name))
    assert files() == {"QTHEIRSQ"}


def test_no_folder_of_files_is_forgotten(cast):
    """A new folder fails here until erasing knows it: exports and letters are copies, lists hold words."""
    assert set(HELD) == {"photos", "takes", "voices", "demonstrations", "exports", "letters", "logs"}


def test_what_a_note_says_to_several_stays_with_the_others(cast, files, after_commit):
    theirs = Answer.objects.get(submission__student=cast["fellow"])
    shared = Answer.objects.get(submission__student=cast["student"]).voice
    Answer.objects.filter(pk=theirs.pk).update(voice=shared)
    with after_commit():
        erase_pictures(cast["student"], None)
    theirs.refresh_from_db()
    assert theirs.voice == shared
    assert default_storage.exists(str(shared.sound.name))


def test_what_a_teacher_showed_goes_and_its_words_stay(cast, as_member, after_commit):
    shown = make.ready_demonstration(cast["teacher"])
    names = [str(file.name) for file in shown.files]
    with after_commit():
        erase_pictures(cast["teacher"], cast["teacher"])
    shown = Demonstration.objects.get()
    assert (shown.files, shown.is_waiting) == ([], False)
    assert not any(default_storage.exists(name) for name in names)
    page = as_member(cast["student"]).get(cast["student"].to("lessons:demonstration", shown.pk))
    assert "was erased on" in page.content.decode()


def test_exports_and_papers_that_hold_them_go(cast, after_commit):
    mine, theirs = make.ready_export(cast["student"]), make.ready_export(cast["fellow"])
    whole = make.ready_export(cast["teacher"])
    letter, other = (Letter.objects.given().get(student=cast[who]) for who in ("student", "fellow"))
    for row in (letter, other):
        row.pdf.save("letter.pdf", ContentFile(b"%PDF"), save=False)
        row.pdf_of = "made before"
        row.save()
    with after_commit():
        erase_pictures(cast["student"], None)
    assert set(Export.objects.all()) == {theirs}
    assert not any(default_storage.exists(str(one.file.name)) for one in (mine, whole))
    assert not default_storage.exists(str(letter.pdf.name))
    assert default_storage.exists(str(other.pdf.name))
    letter.refresh_from_db()
    assert (bool(letter.pdf), letter.pdf_state) == (False, "")


def test_the_pages_say_what_was_erased_and_when(cast, as_member, after_commit):
    round_ = Submission.objects.get(student=cast["student"])
    photo, take = round_.photos.get(), round_.takes.get()
    Submission.objects.filter(pk=round_.pk).update(answered_at=None)
    with after_commit():
        erase_pictures(cast["student"], None)
    student, teacher = cast["student"], cast["teacher"]
    said = "Photos and recordings of this round were erased on"
    assert said in as_member(student).get(student.to("lessons:round", round_.pk)).content.decode()
    assert said in as_member(teacher).get(teacher.to("lessons:review", round_.pk)).content.decode()
    life = as_member(student).get(student.to("reeds:reed", round_.reed_id)).content.decode()
    assert "A photo was erased; its numbers stay." in life
    assert "A recording was erased; its numbers stay." in life
    for gone in (
        ("reeds:photo", photo.pk, "screen"),
        ("reeds:flat", photo.pk),
        ("reeds:take_sound", take.pk),
    ):
        assert as_member(teacher).get(teacher.to(*gone)).status_code == 404


def test_a_draft_goes_on_without_them(student, as_member, after_commit):
    reed = make.ReedFactory(owner=student)
    draft = make.SubmissionFactory(reed=reed)
    draft.photos.add(make.ready_photo(reed))
    draft.takes.add(make.ready_take(reed))
    with after_commit():
        erase_pictures(student, None)
    client = as_member(student)
    page = client.get(student.to("lessons:draft", reed.pk))
    assert page.status_code == 200
    assert "/photos/" not in page.content.decode()
    sent = client.post(student.to("lessons:go", reed.pk), {"question": ""})
    assert "Add a photo, a number or a question" in sent.content.decode()


def test_numbers_measured_after_sending_stay_with_the_round(cast):
    round_ = Submission.objects.get(student=cast["student"])
    Measurement.objects.create(
        studio=round_.studio,
        reed=round_.reed,
        quantity="tie_length",
        value=71,
        u=1,
        photo=round_.photos.get(),
    )
    assert round_.came_later.count() == 1
    erase_pictures(cast["student"], None)
    assert round_.came_later.count() == 1
