"""Where one arrives: in one's only studio, at a choice, or at a sentence."""

from __future__ import annotations

from django.utils import timezone

from tests import factories as make


def test_student_of_one_studio_goes_straight_into_it(student, as_member):
    assert as_member(student).get("/").url == student.to("home")


def test_person_in_several_studios_chooses(student, stranger, as_member):
    other = make.student(studio=stranger.studio, person=student.person)
    page = as_member(student).get("/").content.decode()
    assert student.to("home") in page
    assert other.to("home") in page


def test_bar_leads_a_person_of_several_studios_to_the_choice(student, stranger, as_member):
    client = as_member(student)
    assert "other studio" not in client.get(student.to("me")).content.decode()
    make.student(studio=stranger.studio, person=student.person)
    assert "other studio" in client.get(student.to("me")).content.decode()


def test_person_in_no_studio_reads_what_to_do(student, as_member):
    student.left_at = timezone.now()
    student.save()
    answer = as_member(student).get("/")
    assert answer.status_code == 200
    assert "in no studio" in answer.content.decode()


def test_somebody_not_signed_in_is_sent_to_sign_in(client, db):
    assert client.get("/").url.startswith("/account/login/")


def test_teacher_and_student_begin_at_different_pages(teacher, student, as_member):
    assert as_member(teacher).get(teacher.to("home")).url == teacher.to("lessons:queue")
    assert as_member(student).get(student.to("home")).url == student.to("lessons:desk")
