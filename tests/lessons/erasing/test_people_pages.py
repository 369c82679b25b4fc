"""The pages of erasing: what would go is shown, a name is typed, one's own hand waits for the teacher."""

from __future__ import annotations

import re

import pytest
from django.core import mail
from django.utils import timezone

from studio.models import Member, Person, Role
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("worker_at_once")]


def text(answer):
    return " ".join(answer.content.decode().split())


def test_a_teacher_sees_what_goes_types_the_name_and_it_is_done(teacher, student, as_member):
    make.ready_photo(make.ReedFactory(owner=student))
    client, path = as_member(teacher), teacher.to("lessons:erase", student.pk)
    page = text(client.get(path))
    assert "photos: 1" in page
    assert "reeds: 1" in page
    assert Member.objects.get(pk=student.pk).erased_at is None
    wrong = client.post(path, {"name": "Somebody else"})
    assert wrong.status_code == 422
    assert "This is another name. Nothing was erased." in text(wrong)
    assert client.post(path, {"name": f"  {str(student).upper()} "}).url == teacher.to("people")
    assert Member.objects.get(pk=student.pk).is_erased
    people = text(client.get(teacher.to("people")))
    assert f"No. {student.pk}" not in people
    left = text(client.get(teacher.to("member", student.pk)))
    assert "a number is left" in left
    assert "Take" not in left.split("<main")[1]
    assert client.get(path).status_code == 404
    assert client.post(teacher.to("take_back", student.pk)).status_code == 302
    assert Member.objects.get(pk=student.pk).left_at


def test_a_student_asks_the_teacher_agrees_and_their_own_hand_does_it(teacher, student, as_member):
    client, path = as_member(student), student.to("lessons:erase_me")
    assert "Ask your teacher for it" in text(client.get(path))
    early = client.post(path, {"name": str(student)})
    assert early.status_code == 422
    assert "your teacher must agree" in text(early)
    client.post(student.to("lessons:ask_erasure"))
    assert "Your teacher sees it" in text(client.get(path))
    assert "asks to be erased" in text(as_member(teacher).get(teacher.to("people")))
    assert "Leave it to them" in text(as_member(teacher).get(teacher.to("member", student.pk)))
    as_member(teacher).post(teacher.to("lessons:agree_to_erase", student.pk))
    assert "you can do it now" in text(client.get(path))
    client.post(student.to("lessons:stay"))
    assert "Ask your teacher for it" in text(client.get(path))
    client.post(student.to("lessons:ask_erasure"))
    as_member(teacher).post(teacher.to("lessons:agree_to_erase", student.pk))
    assert client.post(path, {"name": str(student)}).status_code == 302
    assert not Person.objects.filter(pk=student.person_id).exists()
    assert "Erased. What is left is a number." in text(client.get("/", follow=True))


def test_teachers_with_an_address_are_written_to_once(teacher, student, as_member):
    second, assistant = (
        make.teacher(studio=teacher.studio),
        make.MemberFactory(studio=teacher.studio, role=Role.ASSISTANT),
    )
    for member in (teacher, second, assistant, student, make.teacher()):
        Person.objects.filter(pk=member.person_id).update(email=f"{member.pk}@example.org")
    Person.objects.filter(pk=second.person_id).update(email="")
    for _tap in range(2):
        as_member(student).post(student.to("lessons:ask_erasure"))
    (letter,) = mail.outbox
    assert letter.to == [f"{teacher.pk}@example.org"]
    assert f"{student} asks to be erased from {teacher.studio}" in " ".join(letter.body.split())
    assert teacher.to("member", student.pk) in letter.body


def test_the_last_teacher_is_told_to_hand_over(teacher, as_member):
    client = as_member(teacher)
    answer = client.post(teacher.to("lessons:ask_erasure"), follow=True)
    assert "last teacher" in text(answer)
    assert client.get(teacher.to("lessons:erase", teacher.pk)).url == teacher.to("lessons:erase_me")
    assert client.post(teacher.to("lessons:erase_me"), {"name": str(teacher)}).status_code == 422
    assert not Member.objects.get(pk=teacher.pk).is_erased


def test_nobody_agrees_to_their_own(teacher, as_member):
    make.teacher(studio=teacher.studio)
    client = as_member(teacher)
    client.post(teacher.to("lessons:ask_erasure"))
    answer = client.post(teacher.to("lessons:agree_to_erase", teacher.pk), follow=True)
    assert "Another teacher must agree." in text(answer)
    assert Member.objects.get(pk=teacher.pk).erasure_agreed_at is None


def test_who_is_in_a_studio_asks_there_and_who_is_in_none_erases_the_account(student, as_member):
    client = as_member(student)
    assert student.to("lessons:erase_me") in text(client.get("/erase-account/"))
    client.post("/erase-account/", {"name": str(student)})
    assert Person.objects.filter(pk=student.person_id).exists()
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    assert "/erase-account/" in text(client.get("/"))
    assert client.post("/erase-account/", {"name": "nobody"}).status_code == 422
    assert client.post("/erase-account/", {"name": str(student)}).status_code == 302
    assert not Person.objects.filter(pk=student.person_id).exists()
    assert Member.objects.get(pk=student.pk).is_erased


def test_a_guardian_is_led_nowhere_that_is_shut_and_goes_when_the_teacher_agreed(teacher, as_member):
    child = make.student(studio=teacher.studio, under_age=True)
    guardian = make.guardian(child)
    client = as_member(guardian)
    for name in ("lessons:erase_me", "lessons:kept"):
        page = client.get(guardian.to(name)).content.decode()
        for link in set(re.findall(r'href="(/studio/[^"#?]+)', page)):
            assert client.get(link).status_code < 400, link
    client.post(guardian.to("lessons:ask_erasure"))
    as_member(teacher).post(teacher.to("lessons:agree_to_erase", guardian.pk))
    client.post(guardian.to("lessons:erase_me"), {"name": str(guardian)})
    assert Member.objects.get(pk=guardian.pk).is_erased
    assert not child.guardians.exists()
