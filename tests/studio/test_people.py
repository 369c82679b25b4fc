"""The people page."""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from tests import factories as make


def test_teacher_sees_students_teachers_and_open_invitations(teacher, student, as_member):
    make.InvitationFactory(invited_by=teacher, name="Waiting One")
    make.InvitationFactory(invited_by=teacher, name="Used One", used_at=timezone.now())
    make.InvitationFactory(invited_by=teacher, name="Old One", expires_at=timezone.now() - timedelta(days=1))
    page = as_member(teacher).get(teacher.to("people")).content.decode()
    assert str(student) in page
    assert "Waiting One" in page
    assert "Used One" not in page
    assert "Old One" not in page


def test_teacher_sees_who_lacks_a_guardians_consent(teacher, as_member):
    make.student(studio=teacher.studio, under_age=True)
    assert "no consent yet" in as_member(teacher).get(teacher.to("people")).content.decode()


def test_student_gets_no_people_page(student, as_member):
    assert as_member(student).get(student.to("people")).status_code == 404


def test_stranger_gets_no_people_page(teacher, stranger, as_member):
    assert as_member(stranger).get(teacher.to("people")).status_code == 404


def test_stranger_sees_nobody_of_another_studio_on_their_own_page(student, stranger, as_member):
    page = as_member(stranger).get(stranger.to("people")).content.decode()
    assert student.person.username not in page


def test_people_page_is_only_read(teacher, as_member):
    assert as_member(teacher).post(teacher.to("people")).status_code == 405


def test_people_page_asks_as_often_for_one_student_as_for_many(
    teacher, student, as_member, django_assert_num_queries
):
    client, url = as_member(teacher), teacher.to("people")
    make.guardian(make.student(studio=teacher.studio, under_age=True))
    with django_assert_num_queries(9):  # one for how much is unread, on every page
        client.get(url)
    for _ in range(12):
        make.guardian(make.student(studio=teacher.studio, under_age=True))
        make.InvitationFactory(invited_by=teacher)
    with django_assert_num_queries(9):
        client.get(url)
