"""Lessons, and the work set in them."""

from __future__ import annotations

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from reeds.models import Pattern, Reed
from studio.access import StudioRow
from studio.models import Member, is_time_zone


class Lesson(StudioRow):
    """One lesson: when, with whom, what was said."""

    owner_path = "present"

    at = models.DateTimeField(_("date and time"))
    time_zone = models.CharField(_("time zone"), max_length=60, validators=[is_time_zone])
    held_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="lessons_held")
    present = models.ManyToManyField(Member, verbose_name=_("who was there"), related_name="lessons")
    notes = models.TextField(_("notes"), max_length=5000, blank=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d}"


class SetWork(StudioRow):
    """Something to make until a day: three blanks tied to this pattern."""

    owner_path = "student"

    lesson = models.ForeignKey(
        Lesson, null=True, blank=True, on_delete=models.SET_NULL, related_name="set_work"
    )
    student = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="set_work")
    words = models.CharField(_("what to do"), max_length=300)
    pattern = models.ForeignKey(Pattern, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    count = models.PositiveSmallIntegerField(_("how many reeds"), default=1)
    due_on = models.DateField(_("until"), null=True, blank=True)
    reeds = models.ManyToManyField(Reed, related_name="set_work", blank=True)
    set_at = models.DateTimeField(default=timezone.now, editable=False)
    done_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["due_on", "pk"]

    def __str__(self) -> str:
        return self.words
