"""A take: one recording of one item of a playing test, and what the worker heard in it."""

from __future__ import annotations

import uuid
from typing import ClassVar, Self

from django.db import models
from django.db.models import Q
from django.db.models.fields.files import FieldFile
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.numbers.words import PLAYING_TEST
from reeds.reed.models.attached import AttachedQuerySet
from reeds.reed.models.reed import STAGE_CHOICES, Reed
from reeds.take.heard_by_all import HeardByAll
from reeds.take.processing import Processing
from reeds.take.sound.contours import Contours
from reeds.take.sound.heard import Heard
from reeds.take.sound.stored import contours_from_json, heard_from_json
from studio.access import StudioRow
from studio.keys import StudioKey
from studio.models import Member
from studio.parsed import parsed

ITEM_CHOICES = [(item, _(name)) for item, name in PLAYING_TEST.items()]


class TakeState(models.TextChoices):
    """Where the server is with it."""

    WAITING = "waiting", _("being listened to")
    READY = "ready", _("heard")
    REFUSED = "refused", _("refused")


def take_path(take: Take, filename: str) -> str:
    """Return a path that tells nothing about the person."""
    return f"takes/{take.studio_id}/{uuid.uuid4().hex}{filename[filename.rfind('.') :]}"


# all that a line says of a take that is not opened
IN_A_LINE = (
    *("key", "item", "at", "stage", "state", "refusal", "heard_at", "granted", "result"),
    *("reed__number", "reed__is_reference", "reed__owner"),
)


class TakeQuerySet(AttachedQuerySet["Take"]):
    def heard(self) -> Self:
        return self.kept().filter(state=TakeState.READY)

    def as_lines(self) -> Self:
        """Have each carry no more than its line says, until somebody opens it."""
        return self.select_related(None).select_related("reed").only(*IN_A_LINE)


class Take(HeardByAll, StudioRow):
    """One recording. Voice and breath are personal: it leaves only through a view that asks who wants it."""

    owner_path = "reed__owner"
    copy_columns = ("file", "content_type")

    reed = StudioKey(Reed, on_delete=models.CASCADE, related_name="takes")
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    item = models.CharField(_("played"), max_length=20, choices=ITEM_CHOICES)
    key = models.UUIDField(
        default=uuid.uuid4, help_text=_("Made by the page, so that sending twice keeps one.")
    )
    at = models.DateTimeField(default=timezone.now)
    stage = models.CharField(max_length=12, choices=STAGE_CHOICES, blank=True)
    taken_back_at = models.DateTimeField(null=True, editable=False)
    # what is erased is taken back as well, so that nobody is shown it; pages say that it was there
    erased_at = models.DateTimeField(null=True, editable=False)
    state = models.CharField(max_length=8, choices=TakeState.choices, default=TakeState.WAITING)
    refusal = models.CharField(max_length=300, blank=True)
    # None: before this was noted
    heard_at = models.DateTimeField(null=True, editable=False)

    # the upload is never served and goes once it was listened to; what is served holds its sound alone
    raw = models.FileField(upload_to=take_path, blank=True)
    file = models.FileField(upload_to=take_path, blank=True)
    content_type = models.CharField(max_length=40, blank=True)
    size_bytes = models.PositiveIntegerField(null=True)
    # what the browser granted, read by `processing`
    granted = models.JSONField(default=dict)
    # what was asked for when it was played
    notes = models.JSONField(default=list)
    tempo = models.PositiveSmallIntegerField(null=True)
    a4_hz = models.FloatField(default=442.0)

    # what the worker heard, as the command prints it, and what is drawn; read by `heard` and `contours`
    result = models.JSONField(default=dict)
    tracks = models.JSONField(default=dict)

    objects: ClassVar[TakeQuerySet] = TakeQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "reed", "key"], name="take_once_a_key"),
            models.CheckConstraint(
                condition=Q(erased_at__isnull=True) | Q(taken_back_at__isnull=False, raw="", file="", mp3=""),
                name="an_erased_take_is_gone",
            ),
        ]
        indexes = [models.Index(fields=["studio", "reed", "item", "at"])]

    def __str__(self) -> str:
        return f"{self.get_item_display()} {self.at:%Y-%m-%d}"

    @property
    def heard(self) -> Heard:
        """What the worker heard; nothing while it is waiting."""
        return parsed(self, "result", heard_from_json)

    @property
    def contours(self) -> Contours:
        """Its pitch and level, to draw."""
        return contours_from_json(self.tracks)

    @property
    def processing(self) -> Processing:
        """What the browser said of its own processing of the sound."""
        return Processing.from_json(self.granted)

    @property
    def is_waiting(self) -> bool:
        return self.state == TakeState.WAITING

    @property
    def is_ready(self) -> bool:
        return self.state == TakeState.READY

    @property
    def hidden_words(self) -> str:
        """What stands in its place where the consent to it was taken back; '' where it was not."""
        return self.reed.owner.hidden_words

    @property
    def is_refused(self) -> bool:
        return self.state == TakeState.REFUSED

    @property
    def files(self) -> list[FieldFile]:
        return [file for file in (self.raw, self.file, self.mp3) if file]
