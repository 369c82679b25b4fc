"""How long a studio keeps what: nothing by itself, shown before it goes, erased by the worker daily."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.models import Answer
from lessons.erasing import keeping
from lessons.erasing.keeping import going, keep_times, months_before
from reeds.photo.models.photo import Photo
from reeds.sweep import sweep
from reeds.take.models import Take
from studio.errors import NotPossible
from studio.journal import KEPT, Happened, JournalEntry, note
from studio.models import Member, Studio
from tests import factories as make

pytestmark = pytest.mark.django_db
NOW = timezone.now()
OLD = NOW - dt.timedelta(days=400)
YESTERDAY = NOW - dt.timedelta(days=1)


@pytest.mark.parametrize(
    ("now", "months", "then"),
    [
        ((2026, 3, 31), 1, (2026, 2, 28)),
        ((2024, 2, 29), 12, (2023, 2, 28)),
        ((2026, 1, 15), 3, (2025, 10, 15)),
        ((2026, 12, 31), 12, (2025, 12, 31)),
    ],
)
def test_months_are_those_of_a_calendar(now, months, then):
    assert months_before(dt.datetime(*now, tzinfo=dt.UTC), months) == dt.datetime(*then, tzinfo=dt.UTC)


def chosen(studio, pictures=None, former=None):
    Studio.objects.filter(pk=studio.pk).update(keep_pictures_months=pictures, keep_former_months=former)


def photo_of(student, sent_at=OLD, **reed):
    photo = make.ready_photo(make.ReedFactory(owner=student, **reed))
    Photo.objects.filter(pk=photo.pk).update(sent_at=sent_at)
    return photo


def left(rows):
    return set(rows.objects.kept().values_list("pk", flat=True))


def test_nothing_goes_by_itself(teacher, student):
    photo = photo_of(student)
    Member.objects.filter(pk=student.pk).update(left_at=OLD)
    keep_times(YESTERDAY)
    assert left(Photo) == {photo.pk}
    assert not Member.objects.get(pk=student.pk).is_erased


def test_what_is_old_goes_and_what_is_needed_stays(teacher, student, stranger):
    chosen(teacher.studio, pictures=12)
    old, young = photo_of(student), photo_of(student, NOW)
    model = photo_of(teacher, is_model=True)
    foreign = photo_of(make.student(studio=stranger.studio))
    waits, answered, drafted = photo_of(student), photo_of(student), photo_of(student)
    for photo, times in (
        (waits, {"sent_at": OLD}),
        (answered, {"sent_at": OLD, "answered_at": OLD}),
        (drafted, {}),
    ):
        make.SubmissionFactory(reed=photo.reed, **times).photos.add(photo)
    child = make.student(
        studio=teacher.studio,
        under_age=True,
        guardian_consent_on=OLD.date(),
        guardian_consent_withdrawn_at=NOW,
    )
    withdrawn = photo_of(child)
    take = make.ready_take(old.reed, at=OLD)
    reference = make.ready_take(make.ReedFactory(owner=student, is_reference=True), at=OLD)
    keep_times(YESTERDAY)
    stay = {one.pk for one in (young, model, foreign, waits, drafted, withdrawn)}
    assert left(Photo) == stay
    assert left(Take) == {reference.pk}
    assert Take.objects.get(pk=take.pk).erased_at
    (told,) = JournalEntry.objects.filter(happened=Happened.ERASED_PICTURES)
    assert (told.by, told.whose) == (None, student)


def test_spoken_notes_go_as_photos_do(teacher, student):
    chosen(teacher.studio, pictures=3)
    for sent_at in (OLD, NOW):
        round_ = make.SubmissionFactory(
            reed=make.ReedFactory(owner=student), sent_at=sent_at, answered_at=sent_at
        )
        given = {"studio": teacher.studio, "submission": round_, "author": teacher, "sent_at": sent_at}
        make.ready_voice(Answer.objects.create(**given))
    keep_times(YESTERDAY)
    assert [answer.sent_at for answer in Answer.objects.filter(voice__isnull=False)] == [NOW]


def test_who_left_long_ago_goes_unless_a_round_waits(teacher):
    chosen(teacher.studio, former=3)
    gone, lately, waiting = (make.student(studio=teacher.studio) for _each in range(3))
    for member, left_at in ((gone, OLD), (lately, NOW), (waiting, OLD)):
        Member.objects.filter(pk=member.pk).update(left_at=left_at)
    make.SubmissionFactory(reed=make.ReedFactory(owner=waiting), sent_at=OLD)
    keep_times(YESTERDAY)
    assert [member.pk for member in Member.objects.filter(erased_at__isnull=False)] == [gone.pk]


def test_trouble_with_one_keeps_no_other(teacher, monkeypatch, caplog):
    chosen(teacher.studio, former=3)
    first, second = (make.student(studio=teacher.studio) for _each in range(2))
    Member.objects.filter(pk__in=[first.pk, second.pk]).update(left_at=OLD)
    erase_person = keeping.erase_person

    def stubborn(member, by):
        if member.pk == first.pk:
            raise NotPossible("no")
        erase_person(member, by)

    monkeypatch.setattr(keeping, "erase_person", stubborn)
    keep_times(YESTERDAY)
    assert Member.objects.get(pk=second.pk).is_erased
    assert f"member {first.pk} could not be erased" in caplog.text


def test_the_daily_sweep_does_it_and_forgets_the_journal(teacher, student):
    chosen(teacher.studio, pictures=12)
    photo_of(student)
    note(Happened.CONSENT, by=teacher)
    sweep(NOW + KEPT + dt.timedelta(days=1))
    assert left(Photo) == set()
    assert not JournalEntry.objects.filter(happened=Happened.CONSENT).exists()


def test_what_goes_is_told_before_by_day(teacher, student):
    studio = teacher.studio
    photo_of(student)
    photo_of(student, NOW - dt.timedelta(days=75))
    Member.objects.filter(pk=student.pk).update(left_at=NOW - dt.timedelta(days=75))
    studio.keep_pictures_months = studio.keep_former_months = 3
    told = [(one.photos, [str(person) for person in one.people]) for one in going(studio, NOW)]
    assert told == [(1, []), (2, [str(student)]), (2, [str(student)])]


def test_looking_keeps_nothing_and_keeping_is_told(teacher, student, as_member):
    photo_of(student)
    client, path = as_member(teacher), teacher.to("lessons:keeping")
    times = {"keep_pictures_months": "12", "keep_former_months": ""}
    looked = client.post(path, {**times, "look": "1"}).content.decode()
    assert "What would go with these times" in looked
    assert "<td>1</td>" in looked
    assert Studio.objects.get(pk=teacher.studio_id).keep_pictures_months is None
    assert client.post(path, {**times, "keep_pictures_months": "7"}).status_code == 422
    assert client.post(path, times).status_code == 302
    assert Studio.objects.get(pk=teacher.studio_id).keep_pictures_months == 12
    assert JournalEntry.objects.get(happened=Happened.KEEPING).by == teacher
    assert "<td>1</td>" in client.get(path).content.decode()
