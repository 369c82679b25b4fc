"""An e-mail address counts once its link was opened; until then it takes nothing from anybody."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from allauth.account.models import EmailAddress
from django.core import mail
from django.test import Client
from django.utils import timezone

from studio.models import Invitation, Mailing, Member, Person
from studio.tasks import mail_invitation
from tests import factories as make
from tests.studio.second_steps import PASSWORD, with_password

pytestmark = pytest.mark.usefixtures("worker_at_once")

GOOD = {"name": "Somebody New", "username": "somebody", "password": PASSWORD}
NEW = "new@example.org"


@pytest.fixture
def me(student):
    return with_password(student)


def there(member):
    return Person.objects.get(pk=member.person_id)


def want(client, member, email=NEW, password=PASSWORD):
    return client.post(member.to("me"), {"name": "N", "email": email, "password": password}, follow=True)


def link_in(letter):
    return re.search(r"https?://[^/]+(/\S+)", letter.body).group(1)


def signs_in(login):
    client = Client()
    client.post("/account/login/", {"login": login, "password": PASSWORD})
    return client.session.get("_auth_user_id")


def reset(email):
    mail.outbox.clear()
    Client().post("/account/password/reset/", {"email": email})
    return [letter for letter in mail.outbox if "/password/reset/key/" in letter.body]


# --- one's own ---
def test_another_address_counts_once_its_link_is_opened_and_the_old_one_is_told(me, as_member):
    old, client = me.person.email, as_member(me)
    said = want(client, me).content.decode()
    assert f"link that goes out to {NEW}" in said
    assert f"Until then e-mail goes to {old}" in said
    (letter,) = mail.outbox
    assert letter.to == [NEW]
    assert there(me).email == old
    assert signs_in(old) == str(me.person_id)
    assert signs_in(NEW) is None
    assert reset(NEW) == []
    assert NEW in client.get(link_in(letter)).content.decode()
    assert there(me).email == old  # looking confirms nothing
    mail.outbox.clear()
    assert client.post(link_in(letter)).url == "/"
    assert (there(me).email, there(me).email_wanted) == (NEW, "")
    (told,) = mail.outbox
    assert told.to == [old]
    assert NEW in told.body
    assert signs_in(NEW) == str(me.person_id)
    assert signs_in(old) is None
    assert len(reset(NEW)) == 1
    assert reset(old) == []


def test_the_link_works_once_and_only_for_the_address_that_waits(me, as_member):
    client = as_member(me)
    want(client, me)
    first = link_in(mail.outbox[0])
    want(client, me, "other@example.org")
    assert client.post(first).status_code == 404
    second = link_in(mail.outbox[1])
    assert client.post(second).status_code == 302
    assert client.post(second).status_code == 404
    assert there(me).email == "other@example.org"


def test_the_link_of_another_says_nothing_and_a_forged_one_neither(me, other_student, as_member):
    want(as_member(me), me)
    link, other = link_in(mail.outbox[0]), as_member(other_student)
    assert Client().post(link).url.startswith("/account/login/")
    for client, path in ((other, link), (as_member(me), link[:-2] + "/"), (as_member(me), "/address/x/")):
        for answer in (client.get(path), client.post(path)):
            assert answer.status_code == 404
            assert NEW not in answer.content.decode()
    assert there(me).email_wanted == NEW


def test_the_link_is_too_old_after_three_days(me, as_member):
    want(as_member(me), me)
    with time_machine.travel(timezone.now() + timedelta(days=3, minutes=1)):
        assert as_member(me).post(link_in(mail.outbox[0])).status_code == 404
    assert there(me).email != NEW


def test_no_address_at_all_counts_at_once_and_the_old_one_is_told(me, as_member):
    old = me.person.email
    want(as_member(me), me, "")
    assert (there(me).email, [letter.to for letter in mail.outbox]) == ("", [[old]])


def test_the_present_address_again_forgets_the_one_that_waits(me, as_member):
    client = as_member(me)
    want(client, me)
    want(client, me, me.person.email)
    assert (there(me).email, there(me).email_wanted) == (me.person.email, "")
    assert len(mail.outbox) == 1


def test_the_link_is_sent_once_more_but_not_again_and_again(me, as_member):
    client = as_member(me)
    again = me.to("ask_address")
    assert "No address waits" in client.post(again, follow=True).content.decode()
    want(client, me)
    assert "sent a moment ago" in client.post(again, follow=True).content.decode()
    with time_machine.travel(timezone.now() + timedelta(minutes=4)):
        assert "goes out to" in client.post(again, follow=True).content.decode()
    assert [letter.to for letter in mail.outbox] == [[NEW], [NEW]]


def test_nobody_has_letters_sent_to_many(me, as_member):
    client = as_member(me)
    answers = [want(client, me, f"stranger{turn}@example.org") for turn in range(8)]
    assert [answer.status_code for answer in answers] == [200] * 6 + [422] * 2
    assert len(mail.outbox) == 6


# --- that of somebody else ---
@pytest.fixture
def owner(teacher):
    """Somebody with an address that was shown to be theirs."""
    return with_password(make.student(studio=teacher.studio))


def test_who_types_the_address_of_another_shadows_nothing_and_reaches_nothing(me, owner, as_member):
    theirs = owner.person.email
    want(as_member(me), me, theirs)  # with the same password, too
    assert signs_in(theirs) == str(owner.person_id)
    (letter,) = reset(theirs)
    assert letter.to == [theirs]
    assert owner.person.username in letter.body
    assert me.person.username not in letter.body


def test_nor_does_who_joins_with_it(teacher, owner):
    theirs = owner.person.email
    link = make.InvitationFactory(invited_by=teacher, email=theirs).get_absolute_url()
    assert Client().post(link, {**GOOD, "email": theirs}).status_code == 302
    new = Person.objects.get(username="somebody")
    assert (new.email, new.email_wanted) == ("", theirs)
    assert signs_in(theirs) == str(owner.person_id)
    assert len(reset(theirs)) == 1


def test_an_address_one_had_lets_nobody_in_whatever_allauth_kept(me):
    EmailAddress.objects.create(user=me.person, email="former@example.org", verified=True, primary=True)
    assert signs_in("former@example.org") is None
    assert reset("former@example.org") == []


def test_asking_for_a_reset_keeps_no_list_of_addresses(me):
    assert len(reset(me.person.email)) == 1
    assert not EmailAddress.objects.exists()


# --- an invitation that was sent ---
@pytest.fixture
def sent(teacher):
    invitation = make.InvitationFactory(invited_by=teacher, email=NEW)
    Invitation.objects.update(mailing=Mailing.WAITING)
    mail_invitation.call(invitation.pk)
    return link_in(mail.outbox[0])


def test_who_joins_by_the_link_that_was_sent_has_shown_the_address(sent):
    mail.outbox.clear()
    assert Client().post(sent, {**GOOD, "email": NEW}).status_code == 302
    assert Person.objects.get(username="somebody").email == NEW
    assert mail.outbox == []


def test_another_address_than_that_waits_and_is_asked(sent):
    mail.outbox.clear()
    Client().post(sent, {**GOOD, "email": "another@example.org"})
    new = Person.objects.get(username="somebody")
    assert (new.email, new.email_wanted) == ("", "another@example.org")
    assert [letter.to for letter in mail.outbox] == [["another@example.org"]]


def test_the_link_as_the_teacher_sees_it_shows_nothing(teacher, sent, as_member):
    """A teacher who copies it and joins by it does not read mail at that address."""
    invitation = Invitation.objects.get()
    with time_machine.travel(timezone.now(), tick=False):  # the link says in which second it was made
        page = as_member(teacher).get(teacher.to("invitation", invitation.pk)).content.decode()
        assert invitation.get_absolute_url() in page
    assert sent not in page
    Client().post(invitation.get_absolute_url(), {**GOOD, "email": NEW})
    assert Person.objects.get(username="somebody").email == ""


def test_somebody_signed_in_shows_by_it_the_address_that_waits(me, stranger, as_member):
    elsewhere = make.InvitationFactory(invited_by=stranger, email=NEW)
    want(as_member(me), me)
    as_member(me).post(elsewhere.mailed_url)
    assert there(me).email == NEW
    assert Member.objects.filter(person=me.person).count() == 2
