"""Erasing what somebody sent, and who somebody is.

Pages of the studio know of no photos: who lies above erases them and has given its action here.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction
from django.db.models import Q
from django.db.models.functions import Coalesce, Now
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.errors import NotPossible
from studio.journal import Happened, note
from studio.models import Invitation, Member, Person, SignInLink
from studio.notices import tell_teachers
from studio.sessions import end_all

Eraser = Callable[[Member], object]
_ERASERS: list[Eraser] = []


def register_eraser(eraser: Eraser) -> Eraser:
    """Add what erases a person's photos, recordings and what hangs on them; twice is the same as once."""
    if eraser not in _ERASERS:
        _ERASERS.append(eraser)
    return eraser


@transaction.atomic
def erase_pictures(whose: Member, by: Member | None) -> None:
    """Erase somebody's photos and recordings for good; numbers and counts stay. `by` None: the worker.

    Rows are changed at once, the files go when that holds. Twice is the same as once.
    """
    for eraser in _ERASERS:
        eraser(whose)
    note(Happened.ERASED_PICTURES, by=by, whose=whose)


# --- asking for it -----------------------------------------------------------------------------------------
@transaction.atomic
def ask_to_be_erased(member: Member) -> None:
    """Tell the studio's teachers that somebody wants to be erased, by mail too; twice is once."""
    check_another_teaches(member)
    rows = Member.objects.current().filter(pk=member.pk, erasure_asked_at__isnull=True)
    if rows.update(erasure_asked_at=timezone.now()):
        note(Happened.ERASURE_ASKED, by=member, whose=member)
        tell_teachers(member)


def stay(member: Member) -> None:
    """Take that back."""
    Member.objects.filter(pk=member.pk).update(erasure_asked_at=None, erasure_agreed_at=None)


@transaction.atomic
def agree(member: Member, by: Member) -> None:
    """Leave it to whoever asked: from now on they can do it by their own hand."""
    if by.pk == member.pk:
        raise NotPossible(_("Another teacher must agree."))
    rows = Member.objects.current().filter(pk=member.pk, erasure_asked_at__isnull=False)
    if rows.filter(erasure_agreed_at__isnull=True).update(erasure_agreed_at=timezone.now()):
        note(Happened.ERASURE_ASKED, by=by, whose=member, detail="agreed")


# --- who somebody is ---------------------------------------------------------------------------------------
def check_another_teaches(member: Member) -> None:
    """Refuse for the last teacher."""
    if Member.objects.is_last_teacher(member):
        raise NotPossible(_("This is the studio's last teacher. Hand it over first: another must join."))


def check_may_erase(member: Member, by: Member | None) -> None:
    """Refuse what is not `by`'s to do: another teacher's erasing, one's own without an agreement."""
    check_another_teaches(member)
    own_hand = by is not None and by.pk == member.pk
    if own_hand and member.left_at is None and member.erasure_agreed_at is None:
        raise NotPossible(_("Ask for it first: your teacher must agree."))
    asked_or_left = member.left_at is not None or member.asks_to_be_erased
    if not own_hand and member.teaches and not asked_or_left:
        raise NotPossible(_("Whoever teaches is erased once they have asked for it or have left."))


def let_go_of_account(member: Member) -> None:
    """Put nobody in a person's place in this studio; the account goes, unless another studio has it too."""
    person = member.person
    nobody = Person(username=f"erased {member.pk}", is_active=False)  # with a space: nobody signs in as that
    nobody.set_unusable_password()
    nobody.save()
    Member.objects.filter(pk=member.pk).update(
        person=nobody,
        left_at=Coalesce("left_at", Now()),
        erased_at=Now(),
        erasure_asked_at=None,
        erasure_agreed_at=None,
        under_age=False,
        may_act=False,
        guardian_name="",
        guardian_consent_on=None,
        guardian_consent_noted_by=None,
        guardian_consent_withdrawn_at=None,
        pictures_erased_at=None,
    )
    member.children.clear()
    member.guardians.clear()
    Invitation.objects.filter(Q(used_by=member) | Q(invited_by=member, used_at__isnull=True)).delete()
    SignInLink.objects.filter(Q(member=member) | Q(made_by=member)).delete()
    let_go_of_person(person)


def let_go_of_person(person: Person) -> None:
    """Delete an account that is of no studio any more, with its second steps and sessions."""
    if person.is_superuser or person.memberships.exists():
        return
    end_all(person)
    person.delete()
