"""One member's page: what holds for a student, leaving, coming back, a link for a new password."""

from __future__ import annotations

import pytest
from django.utils import timezone

from studio.models import Member, SignInLink
from tests import factories as make

VERBS = ["consent", "withdraw_consent", "end_membership", "take_back", "make_sign_in_link"]


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


# --- who gets in ---
def test_teacher_sees_name_and_user_name(teacher, student, as_member):
    page = as_member(teacher).get(teacher.to("member", student.pk)).content.decode()
    assert str(student) in page
    assert student.person.username in page


@pytest.mark.parametrize("name", ["member", *VERBS])
def test_student_and_stranger_get_and_change_nothing(
    teacher, student, other_student, stranger, as_member, name
):
    given = {"name": "Changed", "under_age": "on", "guardian_name": "G", "given_on": "2026-01-01"}
    for member, where, about in (
        (student, student, student),
        (student, student, other_student),
        (stranger, teacher, student),
        (stranger, stranger, student),
    ):
        assert as_member(member).post(where.to(name, about.pk), given).status_code == 404
    for member in (student, other_student):
        there = Member.objects.get(pk=member.pk)
        assert (str(there), there.under_age, there.left_at) == (str(member), False, None)
    assert not SignInLink.objects.exists()


def test_nobody_not_signed_in_gets_a_members_page(teacher, student, client):
    assert client.get(teacher.to("member", student.pk)).url.startswith("/account/login/")


@pytest.mark.parametrize("name", VERBS)
def test_looking_changes_nothing(teacher, student, as_member, name):
    assert as_member(teacher).get(teacher.to(name, student.pk)).status_code == 405


# --- what a teacher says of a student ---
def test_teacher_marks_under_age_and_lets_a_student_scrape(teacher, student, as_member):
    given = {"name": "Right Spelling", "under_age": "on", "may_act": "on"}
    answer = as_member(teacher).post(teacher.to("member", student.pk), given)
    assert answer.url == teacher.to("member", student.pk)
    there = Member.objects.get(pk=student.pk)
    assert (str(there), there.under_age, there.may_act) == ("Right Spelling", True, True)
    assert not there.may_send_pictures


@pytest.mark.parametrize("name", ["", "  ", "x" * 81])
def test_name_must_be_there_and_short(teacher, student, as_member, name):
    answer = as_member(teacher).post(teacher.to("member", student.pk), {"name": name, "may_act": "on"})
    assert answer.status_code == 422
    assert not Member.objects.get(pk=student.pk).may_act


def test_name_of_a_student_of_several_studios_is_their_own(teacher, student, stranger, as_member):
    make.student(studio=stranger.studio, person=student.person)
    as_member(teacher).post(teacher.to("member", student.pk), {"name": "Changed", "may_act": "on"})
    there = Member.objects.get(pk=student.pk)
    assert str(there) == str(student)
    assert there.may_act


def test_role_cannot_be_sent_along(teacher, student, as_member):
    as_member(teacher).post(teacher.to("member", student.pk), {"name": "S", "role": "teacher"})
    assert not Member.objects.get(pk=student.pk).teaches


# --- leaving and coming back ---
def test_who_left_gets_in_no_more_though_signed_in_and_the_reeds_stay(teacher, student, reed, as_member):
    theirs = as_member(student)
    assert theirs.get(student.to("me")).status_code == 200
    as_member(teacher).post(teacher.to("end_membership", student.pk))
    assert theirs.get(student.to("me")).status_code == 404
    assert as_member(teacher).get(teacher.to("reeds:reed", reed.pk)).status_code == 200


def test_teacher_takes_a_student_back_in(teacher, student, as_member):
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    client = as_member(teacher)
    assert "Take" in client.get(teacher.to("member", student.pk)).content.decode()
    client.post(teacher.to("take_back", student.pk))
    assert as_member(student).get(student.to("me")).status_code == 200


def test_last_teacher_stays(teacher, as_member):
    answer = as_member(teacher).post(teacher.to("end_membership", teacher.pk), follow=True)
    assert "needs a teacher" in answer.content.decode()
    assert Member.objects.get(pk=teacher.pk).left_at is None


def test_teacher_may_leave_a_studio_that_has_another(teacher, as_member):
    make.teacher(studio=teacher.studio)
    assert as_member(teacher).post(teacher.to("end_membership", teacher.pk)).url == "/"
    assert Member.objects.get(pk=teacher.pk).left_at is not None


# --- a link for a new password ---
def test_teacher_makes_a_link_and_sees_it(teacher, student, as_member):
    client = as_member(teacher)
    answer = client.post(teacher.to("make_sign_in_link", student.pk), follow=True)
    assert "/sign-in/" in answer.content.decode()
    assert SignInLink.objects.get().member == student


def test_new_link_makes_the_one_before_useless(teacher, student, as_member):
    for _ in range(2):
        as_member(teacher).post(teacher.to("make_sign_in_link", student.pk))
    assert [link.is_open for link in SignInLink.objects.order_by("pk")] == [False, True]


def test_link_is_shown_to_no_student_and_no_stranger(teacher, student, stranger, as_member):
    as_member(teacher).post(teacher.to("make_sign_in_link", student.pk))
    pk = SignInLink.objects.get().pk
    for member, where in ((student, student), (stranger, teacher), (stranger, stranger)):
        assert as_member(member).get(where.to("sign_in_link", pk)).status_code == 404


def refused(teacher, member, as_member):
    answer = as_member(teacher).post(teacher.to("make_sign_in_link", member.pk), follow=True)
    assert not SignInLink.objects.exists()
    return answer.content.decode()


def test_no_link_for_who_is_also_in_another_studio(teacher, student, stranger, as_member):
    make.teacher(studio=stranger.studio, person=student.person)
    assert "not in this studio alone" in refused(teacher, student, as_member)


def test_no_link_for_a_teacher(teacher, as_member):
    other = make.teacher(studio=teacher.studio)
    assert "not given out by another teacher" in refused(teacher, other, as_member)


def test_no_link_for_who_has_left(teacher, student, as_member):
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    assert "left the studio" in refused(teacher, student, as_member)
