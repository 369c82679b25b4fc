"""A photo of a reed: what is kept of the upload, and where its copies are."""

from __future__ import annotations

import uuid
from typing import ClassVar, Self

from django.db import models
from django.db.models import Q
from django.db.models.fields.files import FieldFile
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.photo.vision.taken import believed_focal
from reeds.reed.models.attached import AttachedQuerySet
from studio.access import Seer, StudioRow
from studio.keys import StudioKey
from studio.models import TEACHING_ROLES, Member


class View(models.TextChoices):
    """From where the reed was seen."""

    FRONT = "front", _("from above, lying")
    BACK = "back", _("the other blade")
    SIDE = "side", _("from the side")
    OPENING = "opening", _("the opening, tip-on")
    LIGHT = "light", _("against the light")


class PhotoState(models.TextChoices):
    """Where the server is with it."""

    WAITING = "waiting", _("being prepared")
    READY = "ready", _("ready")
    REFUSED = "refused", _("refused")


def somewhere(photo: Photo, filename: str) -> str:
    """Return a path that tells nothing about the person; the name the phone gave is dropped."""
    return f"photos/{photo.studio_id}/{uuid.uuid4().hex}{filename[filename.rfind('.') :]}"


class PhotoQuerySet(AttachedQuerySet["Photo"]):
    def to_compare(self, member: Seer) -> Self:
        """Return the photos this member may lay beside others: those they may see, and those of model reeds.

        THE rule of model reeds: a teacher's reed that is a model is shown to the whole studio, by its
        measured photos only; nothing else of it is opened by that.
        """
        own = Q(pk__in=Photo.objects.visible_to(member).values("pk"))
        model = Q(reed__is_model=True, reed__owner__role__in=TEACHING_ROLES)
        there = self.filter(studio=member.studio_id, taken_back_at__isnull=True).shown()
        return there.filter(own | model, reed__taken_out_at__isnull=True)

    def with_scale(self) -> PhotoQuerySet:
        """Return those that have millimetres of their own: measured, or on a card that was found."""
        measured = Q(measuring__measured_at__isnull=False)
        return self.filter(measured | Q(measuring__laid__isnull=False)).exclude(view=View.OPENING)

    def unmeasured(self) -> Self:
        """Return those that are ready and that nobody measured on."""
        rows = self.filter(state=PhotoState.READY, taken_back_at__isnull=True)
        return rows.filter(measurements__isnull=True, measuring__measured_at__isnull=True)


class Photo(StudioRow):
    """One picture of a reed. The raw upload is never served and goes once the upright copy is made."""

    owner_path = "reed__owner"

    reed = StudioKey("reeds.Reed", on_delete=models.CASCADE, related_name="photos")
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    view = models.CharField(_("view"), max_length=10, choices=View.choices, blank=True)
    key = models.UUIDField(
        default=uuid.uuid4, help_text=_("Made by the page, so that sending twice keeps one.")
    )
    sent_at = models.DateTimeField(default=timezone.now, editable=False)
    state = models.CharField(max_length=8, choices=PhotoState.choices, default=PhotoState.WAITING)
    refusal = models.CharField(max_length=300, blank=True)
    # words of `vision.flaw.Flaw`: what may be wrong with it, told to its student before it is sent
    flaws = models.JSONField(default=list, blank=True)
    taken_back_at = models.DateTimeField(null=True, editable=False)
    # what is erased is taken back as well, so that nobody is shown it; pages say that it was there
    erased_at = models.DateTimeField(null=True, editable=False)

    raw = models.FileField(upload_to=somewhere, blank=True)
    upright = models.FileField(upload_to=somewhere, blank=True)
    large = models.FileField(upload_to=somewhere, blank=True)
    screen = models.FileField(upload_to=somewhere, blank=True)
    thumbnail = models.FileField(upload_to=somewhere, blank=True)

    # read from the upload before its metadata is dropped
    format = models.CharField(max_length=8, blank=True)
    size_bytes = models.PositiveIntegerField(null=True)
    original_width = models.PositiveIntegerField(null=True)
    original_height = models.PositiveIntegerField(null=True)
    orientation = models.PositiveSmallIntegerField(null=True)
    taken_at = models.DateTimeField(null=True)
    focal_35mm = models.FloatField(null=True)
    width = models.PositiveIntegerField(null=True)
    height = models.PositiveIntegerField(null=True)

    objects: ClassVar[PhotoQuerySet] = PhotoQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["sent_at", "pk"]
        indexes = [models.Index(fields=["studio", "reed"])]
        constraints = [
            models.UniqueConstraint(fields=["studio", "reed", "key"], name="photo_once_a_key"),
            models.CheckConstraint(
                condition=Q(erased_at__isnull=True)
                | Q(taken_back_at__isnull=False, raw="", upright="", large="", screen="", thumbnail=""),
                name="an_erased_photo_is_gone",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_view_display()} {self.sent_at:%Y-%m-%d}"

    @property
    def views(self) -> list[tuple[str, str]]:
        """From where it may have been seen, to choose from."""
        return [(view.value, str(view.label)) for view in View]

    @property
    def is_ready(self) -> bool:
        """Whether it can be looked at."""
        return self.state == PhotoState.READY and not self.hidden_words

    @property
    def hidden_words(self) -> str:
        """What stands in its place where the consent to it was taken back; '' where it was not."""
        return self.reed.owner.hidden_words

    @property
    def is_waiting(self) -> bool:
        return self.state == PhotoState.WAITING

    @property
    def is_refused(self) -> bool:
        return self.state == PhotoState.REFUSED

    @property
    def usual_focal(self) -> float | None:
        """The focal length the file stated, mm for a 35 mm frame, if a camera can have it."""
        return believed_focal(self.focal_35mm)

    @property
    def files(self) -> list[FieldFile]:
        """Every file this row names."""
        every = (self.raw, self.upright, self.large, self.screen, self.thumbnail)
        return [file for file in every if file]
