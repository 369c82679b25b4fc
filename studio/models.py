"""The people: a person, their studios, what they are in each, invitations and terms."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from typing import Any, ClassVar, cast

from django.contrib.auth.models import AbstractUser
from django.core import signing
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studio.access import StudioQuerySet, StudioRow

INVITATION_SALT = "studio.invitation"


def is_time_zone(name: str) -> None:
    """Refuse a time zone that this machine does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(_("There is no time zone of this name."))


class Person(AbstractUser):
    """Somebody who can sign in; what they are is said by their memberships, studio by studio."""

    name = models.CharField(_("name"), max_length=80)
    first_name = None  # type: ignore[assignment]  # one name, as the person writes it
    last_name = None  # type: ignore[assignment]

    def __str__(self) -> str:
        return self.name or self.username


class Studio(models.Model):
    """One teacher's (or a few teachers') circle of students; nothing is visible across studios."""

    name = models.CharField(_("name"), max_length=80)
    time_zone = models.CharField(
        _("time zone"), max_length=60, default="Europe/Berlin", validators=[is_time_zone]
    )
    a4_hz = models.FloatField(_("the studio's A, in hertz"), default=442.0)
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
    """What a member is; assistant teacher and guardian will join this list."""

    TEACHER = "teacher", _("teacher")
    STUDENT = "student", _("student")


TEACHING_ROLES = frozenset({Role.TEACHER})


class MemberQuerySet(StudioQuerySet["Member"]):
    def current(self) -> MemberQuerySet:
        return self.filter(left_at__isnull=True)

    def students(self) -> MemberQuerySet:
        return self.current().filter(role=Role.STUDENT)

    def teachers(self) -> MemberQuerySet:
        return self.current().filter(role__in=TEACHING_ROLES)

    def of_person(self, person: Any) -> list[Member]:  # noqa: ANN401  # request.user, signed in or not
        """Return a person's present memberships with their studios."""
        return list(self.current().filter(person=person.pk).select_related("studio").order_by("studio__name"))

    def asking(self, person: Person, studio_id: int) -> Member | None:
        """Return this person's present membership of that studio, if there is one."""
        return (
            self.current().filter(person=person, studio=studio_id).select_related("studio", "person").first()
        )


class Member(StudioRow):
    """A person in one studio."""

    owner_path = "pk"

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=12, choices=Role.choices)
    under_age = models.BooleanField(_("under age"), default=False)
    guardian_name = models.CharField(_("guardian"), max_length=80, blank=True)
    guardian_consent_on = models.DateField(_("guardian's consent given on"), null=True, blank=True)
    guardian_consent_noted_by = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    may_act = models.BooleanField(
        _("may scrape and clip without asking first"),
        default=False,
        help_text=_("Next steps that cannot be undone are shown at once to this student."),
    )
    joined_at = models.DateTimeField(default=timezone.now, editable=False)
    left_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[MemberQuerySet] = MemberQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "person"], name="member_once_a_studio")]
        ordering = ["person__name", "pk"]

    def __str__(self) -> str:
        return str(self.person)

    @property
    def teaches(self) -> bool:
        return self.role in TEACHING_ROLES

    @property
    def may_send_pictures(self) -> bool:
        """Whether photos and takes are allowed: under age only with the guardian's dated consent."""
        return not self.under_age or self.guardian_consent_on is not None

    @property
    def acts_alone(self) -> bool:
        return self.teaches or self.may_act

    def to(self, name: str, *args: Any) -> str:  # noqa: ANN401  # as reverse() takes them
        """Return the address of a page of this member's studio."""
        return reverse(name, args=[self.studio_id, *args])


class InvitationQuerySet(StudioQuerySet["Invitation"]):
    def open(self) -> InvitationQuerySet:
        return self.filter(used_at__isnull=True, revoked_at__isnull=True, expires_at__gt=timezone.now())

    def by_token(self, token: str) -> Invitation | None:
        """Return the invitation that this link was made for, open or not; None for a forged link."""
        try:
            pk = signing.loads(token, salt=INVITATION_SALT)
        except signing.BadSignature:
            return None
        return self.filter(pk=pk).select_related("studio", "invited_by__person").first()

    def take(self, invitation: Invitation) -> bool:
        """Use the invitation up; False if somebody was quicker or it is not open any more."""
        return self.open().filter(pk=invitation.pk).update(used_at=timezone.now()) == 1


def in_two_weeks() -> dt.datetime:
    return timezone.now() + dt.timedelta(days=14)


class Invitation(StudioRow):
    """A link that lets one person join once, until it expires or is taken back."""

    owner_path = "invited_by"

    role = models.CharField(_("role"), max_length=12, choices=Role.choices, default=Role.STUDENT)
    name = models.CharField(_("for whom"), max_length=80)
    email = models.EmailField(_("e-mail, if it is to be sent"), blank=True)
    under_age = models.BooleanField(_("under age"), default=False)
    invited_by = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField(_("until"), default=in_two_weeks)
    used_at = models.DateTimeField(null=True, editable=False)
    used_by = models.ForeignKey(
        Member, null=True, editable=False, on_delete=models.SET_NULL, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[InvitationQuerySet] = InvitationQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return self.name

    @property
    def token(self) -> str:
        return signing.dumps(self.pk, salt=INVITATION_SALT)

    @property
    def is_open(self) -> bool:
        return self.used_at is None and self.revoked_at is None and self.expires_at > timezone.now()


class TermQuerySet(StudioQuerySet["Term"]):
    def holding(self, day: dt.date) -> Term | None:
        """Return the term of that day, else the last one that began before it, else the first to come."""
        earlier = self.filter(starts_on__lte=day).order_by("-starts_on").first()
        return earlier or self.order_by("starts_on").first()


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
        zone = self.studio.zone
        midnight = dt.time()
        return (
            dt.datetime.combine(self.starts_on, midnight, zone),
            dt.datetime.combine(self.ends_on + dt.timedelta(days=1), midnight, zone),
        )
