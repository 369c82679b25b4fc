"""One function for each thing that happens to a studio's people; each is one transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from studio import addresses
from studio.errors import NotPossible
from studio.journal import Happened, note
from studio.links import why_closed
from studio.models import (
    CHANGEABLE_ROLES,
    Invitation,
    Link,
    Mailing,
    Member,
    Person,
    Role,
    SignInLink,
    Studio,
    Term,
)
from studio.notices import PASSWORD, tell
from studio.second_step import forget_second_step
from studio.tasks import mail_invitation
from studio.typed import as_user_name

SIGN_IN_DAYS = 3
FIRST_SIGN_IN_DAYS = 7
DOUBLE_TAP = dt.timedelta(minutes=2)


@dataclass(frozen=True)
class Newcomer:
    """What somebody gives who joins for the first time."""

    name: str
    username: str
    password: str
    email: str = ""
    mailed_to: str = ""  # where the link was sent by which they came

    @property
    def addresses(self) -> dict[str, str]:
        """The address that counts, or the one that waits to be confirmed."""
        return {"email" if self.email == self.mailed_to else "email_wanted": self.email}


# --- a studio ------------------------------------------------------------------------------------------
@transaction.atomic
def open_studio(name: str, username: str, person_name: str = "") -> tuple[Member, SignInLink | None]:
    """Open a studio with its first teacher; somebody new gets a link to choose a password."""
    person = Person.objects.filter(username__iexact=username).first()
    new = person is None
    if person is None:
        as_user_name(username)
        person = Person(username=username.lower(), name=person_name or username)
        person.set_unusable_password()
        person.full_clean(exclude=["password"])
        person.save()
    studio = Studio(name=name)
    studio.full_clean()
    studio.save()
    teacher = Member.objects.create(studio=studio, person=person, role=Role.TEACHER)
    return teacher, _sign_in_link(teacher, None, FIRST_SIGN_IN_DAYS) if new else None


def save_term(term: Term) -> list[Term]:
    """Keep a term and return the studio's other terms that share days with it."""
    term.save()
    return list(Term.objects.overlapping(term))


def drop_term(term: Term) -> None:
    """Take a term away: it is a name for some days, so nothing that was done on them goes with it."""
    term.delete()


# --- inviting and joining ------------------------------------------------------------------------------
@transaction.atomic
def invite(invitation: Invitation, by: Member, days: int, children: Iterable[Member] = ()) -> Invitation:
    """Keep a new invitation, open for so many days; a guardian's names the children."""
    if not by.leads and invitation.role != Role.STUDENT:
        raise NotPossible(_("Only a teacher invites anybody but students."))
    invitation.studio_id, invitation.invited_by = by.studio_id, by
    invitation.expires_at = timezone.now() + dt.timedelta(days=days)
    invitation.save()
    invitation.children.set(children)
    return invitation


@transaction.atomic
def send_invitation(invitation: Invitation) -> None:
    """Have the worker send the invitation to its e-mail address."""
    if not invitation.email:
        raise NotPossible(_("There is no e-mail address to send it to. Copy the link instead."))
    if not invitation.is_open:
        raise NotPossible(why_closed(invitation))
    Invitation.objects.filter(pk=invitation.pk).update(mailing=Mailing.WAITING)
    mail_invitation.enqueue(invitation.pk)


def revoke(link: Link) -> None:
    """Take a link back; one that was used stays used."""
    kind = type(link)
    kind.objects.filter(pk=link.pk, used_at__isnull=True).update(revoked_at=timezone.now())


def join(invitation: Invitation, newcomer: Newcomer) -> Member:
    """Make a newcomer a person and a member; of two with the same link the first one wins."""
    try:
        with transaction.atomic():
            if not Invitation.objects.take(invitation):
                return _tapped_twice(invitation, newcomer)
            person = Person(username=newcomer.username, name=newcomer.name, **newcomer.addresses)
            person.set_password(newcomer.password)
            person.save()
            if person.email_wanted:
                addresses.ask(person)
            return _become_member(invitation, person)
    except IntegrityError as taken:
        raise NotPossible(_("Somebody has just taken this user name. Choose another.")) from taken


def join_further(invitation: Invitation, person: Person, mailed_to: str = "") -> Member:
    """Make somebody who is signed in a member of one more studio, or again of a studio they had left."""
    there = Member.objects.current().filter(studio=invitation.studio_id, person=person).first()
    if there:
        return there  # a double tap; an invitation for somebody else stays open
    with transaction.atomic():
        _take(invitation)
        if mailed_to and mailed_to == person.email_wanted:
            addresses.confirm(person)
        return _become_member(invitation, person)


def _take(link: Link) -> None:
    if not type(link).objects.take(link):
        link.refresh_from_db()
        raise NotPossible(why_closed(link))


def _become_member(invitation: Invitation, person: Person) -> Member:
    there = Member.objects.former().filter(studio=invitation.studio_id, person=person).first()
    member = there or Member(studio_id=invitation.studio_id, person=person)
    member.role, member.left_at = invitation.role, None
    # whoever was marked stays so until a teacher says otherwise: photos wait for a consent
    member.under_age = member.under_age or invitation.under_age
    member.save()
    note(Happened.ROLE, by=member, whose=member, detail=f">{member.role}")
    member.children.set(invitation.children.all())
    Invitation.objects.filter(pk=invitation.pk).update(used_by=member)
    return member


def _tapped_twice(invitation: Invitation, newcomer: Newcomer) -> Member:
    """Return who has just joined by this invitation, if it is this very newcomer once more."""
    invitation.refresh_from_db()
    used_at, member = invitation.used_at, invitation.used_by
    if used_at is None or member is None or used_at < timezone.now() - DOUBLE_TAP:
        raise NotPossible(why_closed(invitation))
    if member.person.username != newcomer.username or not member.person.check_password(newcomer.password):
        raise NotPossible(why_closed(invitation))
    return member


# --- a password forgotten ------------------------------------------------------------------------------
@transaction.atomic
def make_sign_in_link(member: Member, by: Member) -> SignInLink:
    """Make a link by which somebody chooses a new password; earlier ones stop working."""
    _check_may_be_helped(member)
    SignInLink.objects.open().filter(member=member).update(revoked_at=timezone.now())
    return _sign_in_link(member, by, SIGN_IN_DAYS)


def _sign_in_link(member: Member, by: Member | None, days: int) -> SignInLink:
    until = timezone.now() + dt.timedelta(days=days)
    return SignInLink.objects.create(studio_id=member.studio_id, member=member, made_by=by, expires_at=until)


def _check_may_be_helped(member: Member) -> None:
    if member.left_at is not None:
        raise NotPossible(_("Whoever has left the studio cannot be given a new password here."))
    if member.leads:
        raise NotPossible(_("A teacher's password is not given out by another teacher."))
    if not member.is_only_here:
        raise NotPossible(_("They are not in this studio alone, so only they can set a new password."))


def drop_second_step(member: Member) -> None:
    """Take the second step away of somebody who has lost phone and codes."""
    _check_may_be_helped(member)
    forget_second_step(member.person)


@transaction.atomic
def choose_password(link: SignInLink, password: str) -> Person:
    """Use a sign-in link up and set the password; whoever was signed in with the old one no longer is."""
    _take(link)
    if link.made_by_id is not None:
        _check_may_be_helped(link.member)
    person = link.member.person
    person.set_password(password)
    person.save(update_fields=["password"])
    tell(person, PASSWORD)
    return person


# --- a member ------------------------------------------------------------------------------------------
def _check_another_teaches(member: Member) -> None:
    """Refuse to let the last teacher go."""
    if Member.objects.is_last_teacher(member):
        raise NotPossible(_("A studio needs a teacher: this is the last one."))


@transaction.atomic
def change_role(member: Member, by: Member, role: Role) -> None:
    """Make somebody who is here something else; a guardian stays one, and nobody becomes one by this."""
    if not by.leads:
        raise NotPossible(_("Only a teacher says what somebody is here."))
    if member.is_guardian or role not in CHANGEABLE_ROLES:
        raise NotPossible(_("A guardian is invited as one, and stays one."))
    if member.left_at is not None:
        raise NotPossible(_("Whoever has left the studio is nothing here."))
    if role != Role.TEACHER:
        _check_another_teaches(member)
    if member.role == role:
        return  # a double tap
    note(Happened.ROLE, by=by, whose=member, detail=f"{member.role}>{role.value}")
    Member.objects.filter(pk=member.pk).update(role=role)
    member.role = role


@transaction.atomic
def end_membership(member: Member, by: Member) -> None:
    """End a membership; everything the member made stays."""
    _check_another_teaches(member)
    if Member.objects.current().filter(pk=member.pk).update(left_at=timezone.now()):
        note(Happened.ROLE, by=by, whose=member, detail=f"{member.role}>")
    SignInLink.objects.open().filter(member=member).update(revoked_at=timezone.now())


@transaction.atomic
def take_back(member: Member, by: Member) -> None:
    """Let somebody who left come back as what they were."""
    if Member.objects.former().filter(pk=member.pk).update(left_at=None):
        note(Happened.ROLE, by=by, whose=member, detail=f">{member.role}")


@transaction.atomic
def change_student(student: Member, name: str) -> None:
    """Keep what a teacher says of a student; one who is in other studios too writes their own name."""
    if student.person.name != name:
        if not student.is_only_here:
            raise NotPossible(_("Whoever is in several studios writes their own name."))
        Person.objects.filter(pk=student.person_id).update(name=name)
    student.save(update_fields=["under_age", "may_act"])


@transaction.atomic
def change_own(person: Person, name: str, email: str) -> None:
    """Change one's own name and e-mail; another address counts once its link was opened."""
    person.name = name
    person.save(update_fields=["name"])
    if email != (person.email_wanted or person.email):
        addresses.give(person, email)
