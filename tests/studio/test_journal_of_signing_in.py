"""A second step that does not fit, and a role that is taken or ended otherwise than by a change."""

import datetime as dt

import pytest
from django.test import Client

from studio.journal import Happened, JournalEntry
from studio.models import Member
from tests import factories as make
from tests.studio.second_steps import STEP, a_wrong_code, code, sign_in, with_phone

pytestmark = pytest.mark.django_db
FORGED = '{"id": "AA", "response": {"userHandle": "1"}}'
WRONG = {"of the phone": lambda: {"code": a_wrong_code()}, "of a passkey": lambda: {"credential": FORGED}}


@pytest.fixture
def clock(time_machine):
    """Five seconds into the life of a code, for as long as a test lasts."""
    time_machine.move_to(dt.datetime(2026, 3, 2, 12, 0, 5, tzinfo=dt.UTC), tick=False)


def failed():
    rows = JournalEntry.objects.filter(happened=Happened.SIGN_IN_FAILED)
    return list(rows.values_list("by", "whose", "detail"))


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_a_second_step_that_does_not_fit_is_told_to_each_studio(student, stranger, clock, wrong):
    further = make.MemberFactory(studio=stranger.studio, person=student.person)
    client = Client()
    sign_in(client, with_phone(student))
    client.post(STEP, wrong())
    assert set(failed()) == {(None, student.pk, "second_step"), (None, further.pk, "second_step")}
    client.post(STEP, {"code": code()})
    assert len(failed()) == 2
    assert JournalEntry.objects.filter(happened=Happened.SIGNED_IN, whose=student).exists()


def test_one_that_is_not_looked_at_any_more_is_not_told_without_end(student, clock):
    client = Client()
    sign_in(client, with_phone(student))
    for _turn in range(8):
        client.post(STEP, {"code": a_wrong_code()})
    assert len(failed()) == 5


def test_a_passkey_alone_that_fits_nobody_is_a_line_in_the_log(client, student, caplog):
    client.post("/account/second-step/webauthn/login/", {"credential": FORGED})
    assert "a passkey did not fit" in caplog.text
    assert failed() == []


def test_who_joins_has_taken_a_role(teacher, stranger, as_member):
    invitation = make.InvitationFactory(invited_by=teacher, role="assistant")
    as_member(stranger).post(invitation.get_absolute_url(), {"join": "1"})
    joined = Member.objects.get(studio=teacher.studio, person=stranger.person)
    (row,) = JournalEntry.objects.filter(happened=Happened.ROLE)
    assert (row.by, row.whose, row.detail) == (joined, joined, ">assistant")


def test_so_has_who_leaves_and_comes_back_once_each(teacher, student, as_member):
    for name in ("end_membership", "end_membership", "take_back", "take_back"):
        as_member(teacher).post(teacher.to(name, student.pk))
    rows = JournalEntry.objects.filter(happened=Happened.ROLE).order_by("pk")
    assert list(rows.values_list("by", "whose", "detail")) == [
        (teacher.pk, student.pk, "student>"),
        (teacher.pk, student.pk, ">student"),
    ]
