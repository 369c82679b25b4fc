"""Lessons, and the work set in them."""

from __future__ import annotations

import datetime as dt
import uuid
import zoneinfo
from typing import ClassVar

from django.db import models
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern
from studio.access import StudioQuerySet, StudioRow
from studio.counting import how_many
from studio.keys import StudioKey
from studio.models import Member, is_time_zone


class Lesson(StudioRow):
    """One lesson: when, with whom, and the one step that was agreed in it."""

    owner_path = "present"

    at = models.DateTimeField(_("date and time"))
    time_zone = models.CharField(_("time zone"), max_length=60, validators=[is_time_zone])
    held_by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="lessons_held")
    present = models.ManyToManyField(Member, verbose_name=_("who was there"), related_name="lessons")
    agreed = models.CharField(_("agreed until the next lesson"), max_length=500, blank=True)
    # what `with_names` gives it
    names: tuple[str, ...] = ()

    class Meta:
        ordering = ["-at"]
        indexes = [models.Index(fields=["studio", "at"])]

    def __str__(self) -> str:
        return self.when

    @property
    def is_to_come(self) -> bool:
        return self.at > timezone.now()

    @property
    def local(self) -> dt.datetime:
        """The lesson's time on the clock of its own zone."""
        return self.at.astimezone(zoneinfo.ZoneInfo(self.time_zone))

    @property
    def when(self) -> str:
        """Day, time and zone, in the reader's language."""
        # without its zone the template engine leaves the clock time as it is
        clock = date_format(self.local.replace(tzinfo=None), "DATETIME_FORMAT")
        return f"{clock} ({self.time_zone.replace('_', ' ')})"


class LessonNote(StudioRow):
    """What somebody noted of a lesson; notes are added and never changed, read by all who were there."""

    owner_path = "lesson__present"

    lesson = StudioKey(Lesson, on_delete=models.CASCADE, related_name="notes")
    by = StudioKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    words = models.TextField(_("note"), max_length=5000)
    key = models.UUIDField(default=uuid.uuid4, help_text=_("Made by the page: sent twice, it is noted once."))
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "lesson", "key"], name="lesson_note_once_a_key")
        ]

    def __str__(self) -> str:
        return self.words[:40]


# work that is longer over than this is spoken of in a lesson and not asked for each day: own choice
ASKED_FOR = dt.timedelta(days=60)


def asked_since() -> dt.date:
    """Return until which day, or later, work is due that is still asked for."""
    return timezone.localdate() - ASKED_FOR


class SetWorkQuerySet(StudioQuerySet["SetWork"]):
    def still_asked(self, since: dt.date) -> SetWorkQuerySet:
        """Return what is not done, and was not over before that day: see `asked_since`."""
        return self.filter(done_at__isnull=True).exclude(due_on__lt=since)

    def counted(self) -> SetWorkQuerySet:
        """Have each carry as `made` how many reeds came of it."""
        return self.annotate(made=how_many(SetWork, "reeds"))


class SetWork(StudioRow):
    """Something to make until a day: three blanks tied to this pattern."""

    owner_path = "student"

    lesson = StudioKey(Lesson, null=True, blank=True, on_delete=models.SET_NULL, related_name="set_work")
    student = StudioKey(Member, on_delete=models.CASCADE, related_name="set_work")
    words = models.CharField(_("what to do"), max_length=300)
    pattern = StudioKey(Pattern, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    count = models.PositiveSmallIntegerField(_("how many reeds"), default=1)
    due_on = models.DateField(_("until"), null=True, blank=True)
    reeds = models.ManyToManyField(Reed, related_name="set_work", blank=True)
    set_at = models.DateTimeField(default=timezone.now, editable=False)
    done_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[SetWorkQuerySet] = SetWorkQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["due_on", "pk"]

    def __str__(self) -> str:
        return self.words

    @property
    def is_late(self) -> bool:
        return self.done_at is None and self.due_on is not None and self.due_on < timezone.localdate()

    @property
    def still_wanted(self) -> int:
        """How many reeds are still to be made for it."""
        return max(self.count - self.reeds.count(), 0)
