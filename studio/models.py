"""The people: a person, their studios, what they are in each, invitations and terms."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Iterable
from typing import Any, ClassVar, Self, TypeVar, cast

from django.contrib.auth.models import AbstractUser
from django.core import signing
from django.db import models
from django.db.models import F, Q, QuerySet
from django.db.models.functions import Lower
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import Seer, StudioQuerySet, StudioRow
from studio.addressed import address_of
from studio.consented import Consented
from studio.erasable import Erasable, Keeping, number_alone
from studio.keys import StudioKey
from studio.reading import Reading
from studio.told_by import ToldBy
from studio.typed import is_time_zone as is_time_zone  # migrations look for it here


class Person(ToldBy, Reading, AbstractUser):
    """Somebody who can sign in; what they are is said by their memberships, studio by studio."""

    name = models.CharField(_("name"), max_length=80)
    first_name = None  # type: ignore[assignment]  # one name, as the person writes it
    last_name = None  # type: ignore[assignment]
    # `email` was shown to be theirs; this one waits for its link to be opened: see studio/addresses.py
    email_wanted = models.EmailField(blank=True, editable=False)

    class Meta:
        # a phone writes the first letter large, so signing in does not mind the case: no two may differ by it
        constraints = [models.UniqueConstraint(Lower("username"), name="person_username_once")]

    def __str__(self) -> str:
        return self.name or self.username


class Studio(Keeping):
    """One teacher's (or a few teachers') circle of students; nothing is visible across studios."""

    name = models.CharField(_("name"), max_length=80)
    time_zone = models.CharField(
        _("time zone"), max_length=60, default="Europe/Berlin", validators=[is_time_zone]
    )
    a4_hz = models.FloatField(_("the studio's A, in hertz"), default=442.0)
    foretells_to_students = models.BooleanField(
        _("students see what a blank foretells"),
        default=False,
        help_text=_("Before they scrape it. Without this only teachers see the chance that it will play."),
    )
    teachers_second_step = models.BooleanField(
        _("teachers sign in with a second step"),
        default=False,
        help_text=_("A code from their phone or a passkey. Who has none is led to set it up first."),
    )
    is_demo = models.BooleanField(default=False, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(a4_hz__range=(415, 446)), name="studio_a4_usual")]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)


class Role(models.TextChoices):
    """What a member is, in the one list that forms, invitations and the rule of access read.

    What rows a role sees is said in studio/access.py, what pages it has in studio/roles.py.
    """

    TEACHER = "teacher", _("teacher")
    ASSISTANT = "assistant", _("assistant teacher")
    STUDENT = "student", _("student")
    GUARDIAN = "guardian", _("guardian")


# who sees the whole studio and answers
TEACHING_ROLES = frozenset({Role.TEACHER, Role.ASSISTANT})
# what their name is made of, to be read alone
NAMING = ("erased_at", "person__name", "person__username")


def called(pk: int | None, erased_at: dt.datetime | None, name: str | None, username: str | None) -> str:
    """Return what a member is called, of whom this alone was asked for; '' of nobody."""
    if pk is None:
        return ""
    return name or username or "" if erased_at is None else number_alone(pk)


# what a teacher makes of somebody who is here; a guardian is one by an invitation that names the children
CHANGEABLE_ROLES = (Role.TEACHER, Role.ASSISTANT, Role.STUDENT)


class MemberQuerySet(StudioQuerySet["Member"]):
    def current(self) -> MemberQuerySet:
        return self.filter(left_at__isnull=True)

    def students(self) -> MemberQuerySet:
        return self.current().filter(role=Role.STUDENT)

    def teachers(self) -> MemberQuerySet:
        return self.current().filter(role=Role.TEACHER)

    def is_last_teacher(self, member: Member) -> bool:
        """Whether no other is there; the rows stay locked, so that of two who go at once one stays."""
        teachers = self.teachers().filter(studio=member.studio_id).select_for_update()
        return [teacher.pk for teacher in teachers] == [member.pk]

    def teaching(self) -> MemberQuerySet:
        """Return who answers: teachers and assistants."""
        return self.current().filter(role__in=TEACHING_ROLES)

    def makers(self) -> MemberQuerySet:
        """Return who may have reeds: everybody who is here but guardians."""
        return self.current().exclude(role=Role.GUARDIAN)

    def guardians(self) -> MemberQuerySet:
        return self.current().filter(role=Role.GUARDIAN)

    def under_age_students(self) -> MemberQuerySet:
        """Return whom a guardian can be tied to."""
        return self.students().filter(under_age=True)

    def former(self) -> MemberQuerySet:
        """Return who has left and is known still."""
        return self.filter(left_at__isnull=False, erased_at__isnull=True)


class Member(Consented, Erasable, StudioRow):
    """A person in one studio."""

    owner_path = "pk"

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=12, choices=Role.choices)
    # whose guardian this is; they are seen by them as long as they are under age
    children = models.ManyToManyField("self", symmetrical=False, related_name="guardians", blank=True)
    may_act = models.BooleanField(
        _("may scrape and clip without asking first"),
        default=False,
        help_text=_("Next steps that cannot be undone are shown at once to this student."),
    )
    guardian_consent_noted_by = StudioKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    joined_at = models.DateTimeField(default=timezone.now, editable=False)
    left_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[MemberQuerySet] = MemberQuerySet.as_manager()  # type: ignore[assignment]
    in_several = False  # whether there are other studios to switch to, as studio/asking.py found

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "person"], name="member_once_a_studio"),
            models.CheckConstraint(
                condition=Q(erased_at__isnull=True) | Q(left_at__isnull=False), name="who_is_erased_has_left"
            ),
        ]
        ordering = ["person__name", "pk"]

    def __str__(self) -> str:
        return self.number_alone if self.is_erased else str(self.person)

    @property
    def teaches(self) -> bool:
        return self.role in TEACHING_ROLES

    @property
    def leads(self) -> bool:
        """Whether this is a teacher, who has the settings, the people and whatever cannot be undone."""
        return self.role == Role.TEACHER

    @property
    def is_student(self) -> bool:
        return self.role == Role.STUDENT

    @property
    def is_guardian(self) -> bool:
        return self.role == Role.GUARDIAN

    @property
    def sees_rows_of(self) -> Iterable[int] | QuerySet[Member, int]:
        """Whose rows this member sees who does not teach: their own, or those of their children."""
        return self.wards.values_list("pk", flat=True) if self.is_guardian else [self.pk]

    @property
    def wards(self) -> MemberQuerySet:
        """The children of a guardian: who came of age is none any more."""
        return self.children.filter(studio=self.studio_id, under_age=True, role=Role.STUDENT)

    @property
    def signed_in_guardians(self) -> MemberQuerySet:
        """The guardians of this student who have a sign-in of their own."""
        return self.guardians.all().guardians().select_related("person")

    @property
    def is_only_here(self) -> bool:
        """Whether this studio is the person's only one, so that its teacher may help with name and password.

        Otherwise a teacher could, with a new password, walk into somebody else's studio.
        """
        elsewhere = Member.objects.current().filter(person=self.person_id).exclude(studio=self.studio_id)
        return not (self.person.is_superuser or elsewhere.exists())

    def to(self, name: str, *args: Any) -> str:  # noqa: ANN401  # as reverse() takes them
        """Return the address of a page of this member's studio."""
        return address_of(name, self.studio_id, *args)


def studios_of(person: Any) -> list[Member]:  # noqa: ANN401  # request.user, signed in or not
    """Return a person's present memberships with their studios."""
    present = Member.objects.current().filter(person=person.pk)
    return list(present.select_related("studio").order_by("studio__name"))


def membership(person: Person, studio_id: int) -> Member | None:
    """Return this person's present membership of that studio, if there is one."""
    return Member.objects.current().filter(person=person, studio=studio_id).select_related("studio").first()


class LinkState(models.TextChoices):
    OPEN = "open", _("open")
    USED = "used", _("used")
    REVOKED = "revoked", _("taken back")
    EXPIRED = "expired", _("expired")


AnyLink = TypeVar("AnyLink", bound="Link")


class LinkQuerySet(StudioQuerySet[AnyLink]):
    def open(self) -> LinkQuerySet[AnyLink]:
        return self.filter(used_at__isnull=True, revoked_at__isnull=True, expires_at__gt=timezone.now())

    def by_token(self, token: str) -> AnyLink | None:
        """Return the row that this link was made for, open or not; None for a forged link."""
        try:
            told = signing.loads(token, salt=self.model.salt)
        except signing.BadSignature:
            return None
        pk = told[0] if isinstance(told, list) else told
        return self.filter(pk=pk).select_related("studio").first()

    def take(self, link: Link) -> bool:
        """Use the link up; False if somebody was quicker or it is not open any more."""
        return self.open().filter(pk=link.pk).update(used_at=timezone.now()) == 1


class Link(StudioRow):
    """A signed link that works once, until it expires or is taken back."""

    salt: ClassVar[str]

    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField(_("until"))
    used_at = models.DateTimeField(null=True, editable=False)
    revoked_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[LinkQuerySet[Any]] = LinkQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        abstract = True
        ordering = ["-created_at"]

    @property
    def token(self) -> str:
        return signing.dumps(self.pk, salt=self.salt)

    @property
    def state(self) -> LinkState:
        if self.used_at is not None:
            return LinkState.USED
        if self.revoked_at is not None:
            return LinkState.REVOKED
        return LinkState.OPEN if self.expires_at > timezone.now() else LinkState.EXPIRED

    @property
    def is_open(self) -> bool:
        return self.state == LinkState.OPEN


class Mailing(models.TextChoices):
    NO = "", _("not by e-mail")
    WAITING = "waiting", _("about to be sent by e-mail")
    SENT = "sent", _("sent by e-mail")
    FAILED = "failed", _("could not be sent by e-mail")


def in_two_weeks() -> dt.datetime:
    return timezone.now() + dt.timedelta(days=14)


class InvitationQuerySet(LinkQuerySet["Invitation"]):
    def visible_to(self, member: Seer) -> Self:
        """Return whose links this member may see: whoever sees one can use it, so no assistant sees all."""
        rows = self.filter(studio=member.studio_id)
        return rows if member.leads else rows.filter(invited_by=member.pk)


class Invitation(Link):
    """A link that lets one person join."""

    owner_path = "invited_by"
    salt = "studio.invitation"

    role = models.CharField(_("role"), max_length=12, choices=Role.choices, default=Role.STUDENT)
    name = models.CharField(_("for whom"), max_length=80)
    email = models.EmailField(_("e-mail, if it is to be sent"), blank=True)
    under_age = models.BooleanField(_("under age"), default=False)
    children = models.ManyToManyField(Member, related_name="+", blank=True)
    invited_by = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    expires_at = models.DateTimeField(_("until"), default=in_two_weeks)
    used_by = StudioKey(Member, null=True, editable=False, on_delete=models.SET_NULL, related_name="+")
    mailing = models.CharField(max_length=10, choices=Mailing.choices, blank=True, editable=False)

    objects: ClassVar[InvitationQuerySet] = InvitationQuerySet.as_manager()  # type: ignore[assignment]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("join", args=[self.token])

    @property
    def mailed_url(self) -> str:
        """Return where the link leads that is sent to the address: whoever comes by it reads mail there."""
        return reverse("join", args=[signing.dumps([self.pk, self.email], salt=self.salt)])

    def proves(self, token: str) -> str:
        """Return the address that this link was sent to; empty for one that was given away otherwise."""
        told = signing.loads(token, salt=self.salt)
        return str(told[1]) if isinstance(told, list) else ""


class SignInLink(Link):
    """A link that lets a member choose a new password; made by a teacher, or on the machine itself."""

    owner_path = "made_by"
    salt = "studio.sign-in"

    member = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    made_by = StudioKey(Member, null=True, on_delete=models.CASCADE, related_name="+")

    def __str__(self) -> str:
        return str(self.member)

    def get_absolute_url(self) -> str:
        return reverse("sign_in", args=[self.token])


class TermQuerySet(StudioQuerySet["Term"]):
    def overlapping(self, term: Term) -> TermQuerySet:
        """Return the studio's other terms that share a day with this one."""
        others = self.filter(studio=term.studio_id).exclude(pk=term.pk)
        return others.filter(starts_on__lte=term.ends_on, ends_on__gte=term.starts_on)


class Term(StudioRow):
    """A span of days that a studio names."""

    name = models.CharField(_("name"), max_length=60)
    starts_on = models.DateField(_("first day"))
    ends_on = models.DateField(_("last day"))

    objects: ClassVar[TermQuerySet] = TermQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-starts_on"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="term_ends_after_it_starts",
                violation_error_message=cast(Any, _("The last day comes after the first.")),
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def span(self) -> tuple[dt.datetime, dt.datetime]:
        """First moment and first moment after the term, in the studio's time zone."""
        zone, midnight = self.studio.zone, dt.time()
        return (
            dt.datetime.combine(self.starts_on, midnight, zone),
            dt.datetime.combine(self.ends_on + dt.timedelta(days=1), midnight, zone),
        )
