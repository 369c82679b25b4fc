"""Joining by link: as somebody new, and as somebody signed in."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import signing
from django.test import Client
from django.utils import timezone

from studio import actions
from studio.actions import Newcomer
from studio.errors import NotPossible
from studio.forms import propose_username
from studio.models import Invitation, Member, Person, Role, SignInLink
from tests import factories as make

GOOD = {"name": "Somebody New", "username": "somebody", "password": "cane and thread and wax", "email": ""}


@pytest.fixture
def invitation(teacher):
    return make.InvitationFactory(invited_by=teacher, name="Zoë Weiß-Åström")


@pytest.fixture
def link(invitation):
    return invitation.get_absolute_url()


def members_of(teacher):
    return Member.objects.filter(studio=teacher.studio).exclude(pk=teacher.pk)


# --- somebody new ---
def test_newcomer_sees_the_studio_and_a_proposed_user_name(client, teacher, link):
    page = client.get(link).content.decode()
    assert teacher.studio.name in page
    assert 'value="zoe.weiss.astrom"' in page


def test_newcomer_without_email_joins_and_is_signed_in_for_the_term(client, teacher, invitation, link):
    answer = client.post(link, GOOD)
    member = members_of(teacher).get()
    assert answer.url == member.to("home")
    assert (member.role, member.person.email, str(member)) == (Role.STUDENT, "", "Somebody New")
    assert client.session["_auth_user_id"] == str(member.person_id)
    assert client.session.get_expiry_age() >= 150 * 24 * 3600
    invitation.refresh_from_db()
    assert invitation.used_by == member


def test_under_age_comes_from_the_invitation_and_bars_pictures(client, teacher):
    invited = make.InvitationFactory(invited_by=teacher, under_age=True)
    client.post(invited.get_absolute_url(), {**GOOD, "under_age": ""})
    member = members_of(teacher).get()
    assert member.under_age
    assert not member.may_send_pictures


def test_role_sent_by_the_newcomer_is_not_looked_at(client, teacher, link):
    client.post(link, {**GOOD, "role": "teacher", "is_superuser": "on", "may_act": "on"})
    member = members_of(teacher).get()
    assert (member.role, member.may_act, member.person.is_superuser) == (Role.STUDENT, False, False)


def test_invited_teacher_becomes_one(client, teacher):
    client.post(make.InvitationFactory(invited_by=teacher, role=Role.TEACHER).get_absolute_url(), GOOD)
    assert members_of(teacher).get().teaches


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": " "}, "required"),
        ({"username": ""}, "required"),
        ({"username": "two words"}, "no spaces"),
        ({"username": "a@b.org"}, "no spaces"),
        ({"username": "TAKEN"}, "is taken"),
        ({"password": ""}, "required"),
        ({"password": "short"}, "too short"),
        ({"password": "password123"}, "too common"),
        ({"password": "93751046"}, "entirely numeric"),
        ({"password": "somebody1"}, "too similar"),
        ({"email": "nowhere"}, "valid email"),
    ],
)
def test_bad_entry_is_refused_what_was_typed_stays_and_the_link_is_not_used(
    client, teacher, invitation, link, change, words
):
    make.PersonFactory(username="taken")
    answer = client.post(link, {**GOOD, **change})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    if "name" not in change:
        assert "Somebody New" in page
    assert not members_of(teacher).exists()
    invitation.refresh_from_db()
    assert invitation.is_open


def test_user_name_is_kept_small_so_that_its_case_does_not_matter(client, teacher, link):
    client.post(link, {**GOOD, "username": "Somebody", "email": "New@Example.org"})
    person = members_of(teacher).get().person
    assert (person.username, person.email_wanted) == ("somebody", "new@example.org")


def test_two_siblings_may_give_one_email(client, teacher, link):
    make.PersonFactory(email="family@example.org")
    assert client.post(link, {**GOOD, "email": "family@example.org"}).status_code == 302


@pytest.mark.parametrize(
    ("name", "proposal"),
    [
        ("Ana", "ana"),
        ("  Ana   Maria O'Neil ", "ana.maria.o.neil"),
        ("ÉLODIE Çelik", "elodie.celik"),
        ("Юлия", "юлия"),
        ("???", "player"),
    ],
)
def test_user_name_is_proposed_from_the_name(db, name, proposal):
    assert propose_username(name) == proposal


def test_proposed_user_name_is_one_that_nobody_has(db):
    for username in ("ana", "ana2", "ana.other"):
        make.PersonFactory(username=username)
    assert propose_username("Ana") == "ana3"


# --- links that do not work ---
def closed_by(change):
    now = timezone.now()
    return {
        "used": {"used_at": now - timedelta(hours=1)},
        "taken back": {"revoked_at": now},
        "too old": {"expires_at": now - timedelta(seconds=1)},
    }[change]


@pytest.mark.parametrize("why", ["used", "taken back", "too old"])
@pytest.mark.parametrize("method", ["get", "post"])
def test_closed_link_says_why(client, teacher, link, why, method):
    Invitation.objects.update(**closed_by(why))
    answer = getattr(client, method)(link, GOOD)
    assert answer.status_code == 410
    assert why in answer.content.decode()
    assert not members_of(teacher).exists()


def test_forged_links_are_not_found(client, teacher, invitation):
    other_kind = signing.dumps(invitation.pk, salt=SignInLink.salt)
    gone = signing.dumps(invitation.pk + 999, salt=Invitation.salt)
    for token in (str(invitation.pk), invitation.token[:-1], invitation.token + "x", other_kind, gone):
        answer = client.post(f"/join/{token}/", GOOD)
        assert answer.status_code == 404
        assert "link is not complete" in answer.content.decode()
    assert not members_of(teacher).exists()


def test_join_page_answers_no_other_method(client, link):
    assert client.delete(link).status_code == 405


def test_link_is_not_kept_by_caches(client, link):
    assert "no-store" in client.get(link)["Cache-Control"]


# --- two at once ---
def test_of_two_with_the_same_link_open_the_first_wins_and_the_other_is_told(teacher, link):
    first, second = Client(), Client()
    assert first.get(link).status_code == second.get(link).status_code == 200
    assert first.post(link, GOOD).status_code == 302
    answer = second.post(link, {**GOOD, "username": "another"})
    assert answer.status_code == 410
    assert "used already" in answer.content.decode()
    assert members_of(teacher).count() == 1
    assert not Person.objects.filter(username="another").exists()


def test_of_two_who_both_saw_it_open_inside_the_server_one_wins(teacher, invitation):
    mine, theirs = (Invitation.objects.get(pk=invitation.pk) for _ in range(2))
    actions.join(mine, Newcomer("One", "one", "p"))
    with pytest.raises(NotPossible, match="used already"):
        actions.join(theirs, Newcomer("Two", "two", "p"))
    assert [str(member) for member in members_of(teacher)] == ["One"]


def test_of_two_who_want_one_user_name_the_other_keeps_the_link(teacher, invitation):
    actions.join(make.InvitationFactory(invited_by=teacher), Newcomer("One", "same", "p"))
    with pytest.raises(NotPossible, match="taken this user name"):
        actions.join(invitation, Newcomer("Two", "same", "p"))
    invitation.refresh_from_db()
    assert invitation.is_open


def test_form_sent_twice_joins_once_and_goes_on(teacher, link):
    assert Client().post(link, GOOD).status_code == 302
    again = Client().post(link, GOOD)
    assert again.status_code == 302
    assert again.url == members_of(teacher).get().to("home")


def test_form_sent_twice_needs_the_same_password(teacher, link):
    Client().post(link, GOOD)
    assert Client().post(link, {**GOOD, "password": "an other long password"}).status_code == 410


def test_form_sent_again_later_is_not_a_double_tap(teacher, link):
    Client().post(link, GOOD)
    Invitation.objects.update(used_at=timezone.now() - timedelta(minutes=10))
    assert Client().post(link, GOOD).status_code == 410


# --- somebody signed in ---
def test_person_of_another_studio_joins_with_one_tap(teacher, stranger, invitation, link, as_member):
    client = as_member(stranger)
    assert str(stranger) in client.get(link).content.decode()
    answer = client.post(link)
    member = members_of(teacher).get()
    assert answer.url == member.to("home")
    assert (member.person, member.role) == (stranger.person, Role.STUDENT)
    assert Member.objects.filter(person=stranger.person).count() == 2


def test_somebody_else_on_a_shared_phone_signs_out_and_comes_back_to_the_link(student, link, as_member):
    client = as_member(student)
    assert client.post("/account/logout/", {"next": link}).url == link
    assert 'name="username"' in client.get(link).content.decode()


def test_member_is_told_so_and_the_link_stays_open(teacher, student, invitation, link, as_member):
    client = as_member(student)
    assert "already" in client.get(link).content.decode()
    assert client.post(link).url == student.to("home")
    invitation.refresh_from_db()
    assert invitation.is_open
    student.refresh_from_db()
    assert student.role == Role.STUDENT


def test_teachers_link_does_not_make_a_student_who_is_there_a_teacher(teacher, student, as_member):
    link = make.InvitationFactory(invited_by=teacher, role=Role.TEACHER).get_absolute_url()
    as_member(student).post(link)
    student.refresh_from_db()
    assert not student.teaches


def test_who_was_invited_as_the_wrong_one_is_put_right_by_leaving_and_a_new_link(teacher, student, as_member):
    as_member(teacher).post(teacher.to("end_membership", student.pk))
    link = make.InvitationFactory(invited_by=teacher, role=Role.TEACHER).get_absolute_url()
    as_member(student).post(link)
    there = Member.objects.get(pk=student.pk)
    assert there.teaches
    assert there.left_at is None


def test_who_had_left_comes_back_to_the_same_membership_and_stays_marked(
    teacher, student, invitation, link, as_member
):
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now(), under_age=True)
    as_member(student).post(link)
    student.refresh_from_db()
    assert student.left_at is None
    assert student.under_age  # though the invitation does not say so
    assert members_of(teacher).count() == 1


def test_signed_in_person_with_a_closed_link_is_told(stranger, link, as_member):
    Invitation.objects.update(revoked_at=timezone.now())
    for method in ("get", "post"):
        answer = getattr(as_member(stranger), method)(link)
        assert answer.status_code == 410
        assert "taken back" in answer.content.decode()


def test_signed_in_person_who_comes_second_is_told(teacher, stranger, invitation):
    stale = Invitation.objects.get(pk=invitation.pk)
    actions.join(invitation, Newcomer("One", "one", "p"))
    with pytest.raises(NotPossible, match="used already"):
        actions.join_further(stale, stranger.person)
