"""What somebody is here: changed by a teacher and by nobody else, and a studio is never without a teacher."""

from __future__ import annotations

import pytest

from studio import actions
from studio.errors import NotPossible
from studio.journal import JournalEntry
from studio.models import Invitation, Member, Role
from tests import factories as make


@pytest.fixture
def assistant(teacher):
    return make.assistant(studio=teacher.studio)


@pytest.fixture
def child(teacher):
    return make.student(studio=teacher.studio, under_age=True)


def change(as_member, by, member, role):
    return as_member(by).post(by.to("change_role", member.pk), {"role": role})


def role_of(member):
    return Member.objects.get(pk=member.pk).role


# --- changing a role ---
def test_teacher_makes_a_student_an_assistant_and_an_assistant_a_teacher(teacher, student, as_member):
    for role in ("assistant", "teacher", "student"):
        assert change(as_member, teacher, student, role).url == teacher.to("member", student.pk)
        assert role_of(student) == role
    told = JournalEntry.objects.filter(happened="role", whose=student).order_by("pk")
    assert [row.detail for row in told] == ["student>assistant", "assistant>teacher", "teacher>student"]


def test_nobody_but_a_teacher_changes_a_role(teacher, student, assistant, child, stranger, as_member):
    guardian = make.guardian(child)
    for by in (student, assistant, guardian, stranger):
        for about in (student, assistant, teacher, by):
            where = teacher.to("change_role", about.pk)
            assert as_member(by).post(where, {"role": "teacher"}).status_code == 404
    assert [role_of(one) for one in (student, assistant, guardian)] == ["student", "assistant", "guardian"]
    with pytest.raises(NotPossible, match="Only a teacher"):
        actions.change_role(student, assistant, Role.TEACHER)


def test_the_last_teacher_stays_one(teacher, assistant, as_member):
    answer = change(as_member, teacher, teacher, "assistant")
    assert answer.status_code == 422
    assert "this is the last one" in answer.content.decode()
    # an assistant is no teacher: with one beside, the last teacher cannot leave either
    left = as_member(teacher).post(teacher.to("end_membership", teacher.pk), follow=True)
    assert "this is the last one" in left.content.decode()
    assert role_of(teacher) == "teacher"


def test_a_teacher_beside_another_may_become_an_assistant(teacher, as_member):
    make.teacher(studio=teacher.studio)
    assert change(as_member, teacher, teacher, "assistant").url == teacher.to("home")
    assert role_of(teacher) == "assistant"


@pytest.mark.parametrize("role", ["guardian", "", "owner"])
def test_what_is_no_role_to_give_is_refused(teacher, student, as_member, role):
    assert change(as_member, teacher, student, role).status_code == 422
    assert role_of(student) == "student"


def test_a_guardian_stays_one(teacher, child, as_member):
    guardian = make.guardian(child)
    answer = change(as_member, teacher, guardian, "assistant")
    assert answer.status_code == 422
    assert role_of(guardian) == "guardian"


def test_whoever_has_left_is_made_nothing(teacher, student):
    actions.end_membership(student, teacher)
    student.refresh_from_db()
    with pytest.raises(NotPossible, match="left the studio"):
        actions.change_role(student, teacher, Role.ASSISTANT)


# --- inviting ---
def test_an_assistant_invites_students_and_nobody_else(assistant, as_member):
    client = as_member(assistant)
    assert 'name="role"' not in client.get(assistant.to("invite")).content.decode()
    given = {"name": "Somebody New", "role": "teacher", "days": "14", "email": ""}
    client.post(assistant.to("invite"), given)
    made = Invitation.objects.get()
    assert (made.role, made.invited_by) == ("student", assistant)
    with pytest.raises(NotPossible, match="Only a teacher"):
        actions.invite(Invitation(name="A Teacher", role=Role.TEACHER), assistant, 14)


def test_an_assistant_sees_no_link_but_their_own(teacher, assistant, as_member):
    theirs = make.InvitationFactory(invited_by=teacher, role="teacher", name="To Be A Teacher")
    own = make.InvitationFactory(invited_by=assistant, name="My Newcomer")
    client = as_member(assistant)
    assert client.get(assistant.to("invitation", theirs.pk)).status_code == 404
    assert client.get(assistant.to("invitation", own.pk)).status_code == 200
    page = client.get(assistant.to("people")).content.decode()
    assert "My Newcomer" in page
    assert "To Be A Teacher" not in page


def test_an_assistant_joins_by_an_invitation_and_finds_the_queue(teacher, client):
    invitation = make.InvitationFactory(invited_by=teacher, role="assistant", name="New Assistant")
    given = {"name": "New Assistant", "username": "new.assistant", "password": "cane thread staple"}
    answer = client.post(invitation.get_absolute_url(), given, follow=True)
    assert answer.redirect_chain[-1][0] == teacher.to("lessons:queue")
    assert Member.objects.get(person__username="new.assistant").role == "assistant"


# --- a guardian's children ---
def invite_guardian(as_member, teacher, **given):
    words = {"name": "A Guardian", "role": "guardian", "days": "14", "email": "", **given}
    return as_member(teacher).post(teacher.to("invite"), words)


def test_a_guardian_is_invited_for_children_and_joins_as_theirs(teacher, child, as_member, client):
    invite_guardian(as_member, teacher, children=[child.pk])
    invitation = Invitation.objects.get()
    link = invitation.get_absolute_url()
    assert str(child) in client.get(link).content.decode()
    given = {"name": "A Guardian", "username": "a.guardian", "password": "cane thread staple"}
    answer = client.post(link, given, follow=True)
    assert answer.redirect_chain[-1][0] == teacher.to("lessons:children")
    guardian = Member.objects.get(person__username="a.guardian")
    assert (guardian.role, list(guardian.wards)) == ("guardian", [child])


def test_a_guardian_without_a_child_of_this_studio_is_refused(teacher, child, student, stranger, as_member):
    elsewhere = make.student(studio=stranger.studio, under_age=True)
    for children, words in (
        ([], "tick a student under age"),
        ([student.pk], "Select a valid choice"),  # of age
        ([elsewhere.pk], "Select a valid choice"),
        (["9" * 30], "Select a valid choice"),
    ):
        answer = invite_guardian(as_member, teacher, children=children)
        assert answer.status_code == 422
        assert words in answer.content.decode()
    assert invite_guardian(as_member, teacher, role="student", children=[child.pk]).status_code == 422
    assert not Invitation.objects.exists()


def test_teacher_says_whose_guardian_somebody_is(teacher, child, as_member):
    guardian = make.guardian(child)
    sibling = make.student(studio=teacher.studio, under_age=True)
    url = teacher.to("tie_children", guardian.pk)
    as_member(teacher).post(url, {"children": [sibling.pk]})
    assert list(guardian.wards) == [sibling]
    assert JournalEntry.objects.filter(happened="role", by=teacher, whose=guardian).count() == 1
    refused = as_member(teacher).post(teacher.to("tie_children", child.pk), {"children": [sibling.pk]})
    assert refused.status_code == 422
    assert not child.children.exists()


def test_who_comes_of_age_is_seen_by_no_guardian(teacher, child, as_member):
    guardian = make.guardian(child)
    reed = make.ReedFactory(owner=child)
    client, url = as_member(guardian), guardian.to("reeds:reed", reed.pk)
    assert client.get(url).status_code == 200
    Member.objects.filter(pk=child.pk).update(under_age=False)
    assert client.get(url).status_code == 404
