"""The guardian's consent: photos of an under-age student wait for it."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from reeds.photo.actions.photo import add_photo
from studio.errors import NotPossible
from studio.models import Member
from tests import factories as make


@pytest.fixture
def minor(teacher):
    return make.student(studio=teacher.studio, under_age=True)


def note(as_member, teacher, member, **given):
    words = {"guardian_name": "A Guardian", "given_on": "2026-01-31", **given}
    return as_member(teacher).post(teacher.to("consent", member.pk), words)


def test_teacher_notes_who_consented_and_when(teacher, minor, as_member):
    assert note(as_member, teacher, minor).url == teacher.to("member", minor.pk)
    there = Member.objects.get(pk=minor.pk)
    assert there.guardian_name == "A Guardian"
    assert there.guardian_consent_on == dt.date(2026, 1, 31)
    assert there.guardian_consent_noted_by == teacher
    assert there.may_send_pictures


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"given_on": "2999-01-01"}, "in the future"),
        ({"given_on": ""}, "required"),
        ({"given_on": "2026-02-30"}, "valid date"),
        ({"guardian_name": " "}, "required"),
    ],
)
def test_consent_without_a_name_or_a_past_day_is_refused(teacher, minor, as_member, given, words):
    answer = note(as_member, teacher, minor, **given)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Member.objects.get(pk=minor.pk).may_send_pictures


def test_today_is_the_studios_today(teacher, minor, as_member):
    """Own arithmetic: at 20:00 UTC on the 1st it is the 2nd in Tokyo, nine hours ahead."""
    teacher.studio.time_zone = "Asia/Tokyo"
    teacher.studio.save()
    with time_machine.travel("2026-03-01T20:00:00Z", tick=False):
        assert note(as_member, teacher, minor, given_on="2026-03-03").status_code == 422
        assert note(as_member, teacher, minor, given_on="2026-03-02").status_code == 302


def test_consent_taken_back_bars_pictures_and_stays_known(teacher, minor, as_member):
    note(as_member, teacher, minor)
    client = as_member(teacher)
    client.post(teacher.to("withdraw_consent", minor.pk))
    there = Member.objects.get(pk=minor.pk)
    assert not there.may_send_pictures
    assert "took it back" in client.get(teacher.to("member", minor.pk)).content.decode()
    assert there.guardian_consent_on == dt.date(2026, 1, 31)


def test_consent_can_be_given_again(teacher, minor, as_member):
    note(as_member, teacher, minor)
    as_member(teacher).post(teacher.to("withdraw_consent", minor.pk))
    note(as_member, teacher, minor, given_on="2026-02-01")
    assert Member.objects.get(pk=minor.pk).may_send_pictures


def test_student_reads_why_photos_wait(minor, as_member):
    page = as_member(minor).get(minor.to("me")).content.decode()
    assert "once your guardian&#x27;s consent is noted" in page


def test_photo_is_taken_only_while_the_consent_stands(teacher, minor, as_member):
    reed = make.ReedFactory(owner=minor)

    def send():
        upload = SimpleUploadedFile("reed.jpg", make.picture())
        return add_photo(reed, Member.objects.get(pk=minor.pk), upload, uuid.uuid4())

    with pytest.raises(NotPossible, match="consent"):
        send()
    note(as_member, teacher, minor)
    assert send().pk
    as_member(teacher).post(teacher.to("withdraw_consent", minor.pk))
    with pytest.raises(NotPossible, match="consent"):
        send()
