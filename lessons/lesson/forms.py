"""Forms about lessons and set work."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from typing import Any

from django import forms
from django.forms.utils import from_current_timezone
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lessons.lesson.actions import MAX_NOTE
from lessons.lesson.models import Lesson, SetWork
from reeds.fields import OnceForm
from reeds.reed.forms.make import MOST_AT_ONCE, MakeForm, usual
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern
from studio.forms import Several
from studio.models import Member
from studio.time_zones import ZoneSelect, places

WEEK = dt.timedelta(weeks=1)
MOST_WEEKS = 60


class LessonForm(forms.ModelForm[Lesson]):
    """When, where on the clock, with whom; of a new one also a first note."""

    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}))
    time = forms.TimeField(label=_("Time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=places, widget=ZoneSelect)
    until = forms.DateField(
        label=_("Every week until"),
        required=False,
        help_text=_("Left open, it is one lesson."),
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    notes = forms.CharField(
        label=_("Note"), required=False, max_length=MAX_NOTE, widget=forms.Textarea(attrs={"rows": 6})
    )

    class Meta:
        model = Lesson
        fields = ("day", "time", "time_zone", "until", "present")
        widgets = {"present": forms.CheckboxSelectMultiple}
        field_classes = {"present": Several}

    field_order = ("day", "time", "time_zone", "until", "present", "notes")

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  # as Django calls it
        super().__init__(*args, **kwargs)
        students = Member.objects.visible_to(member).students().select_related("person")
        self.fields["present"].queryset = students  # type: ignore[attr-defined]  # a ModelMultipleChoiceField
        # a new lesson's own zone is '', which is no default
        zone = self.instance.time_zone or member.studio.time_zone
        self.initial["time_zone"] = zone
        self.fields["time_zone"].choices = places(zone)  # type: ignore[attr-defined]  # a ChoiceField
        self.moments: list[dt.datetime] = []
        if self.instance.pk:
            local = self.instance.local
            self.initial.update(day=local.date(), time=local.time())
            del self.fields["until"], self.fields["notes"]

    def clean_until(self) -> dt.date | None:
        """Refuse what ends before it begins, and what would go on for more than a year."""
        first: dt.date | None = self.cleaned_data.get("day")
        until: dt.date | None = self.cleaned_data["until"]
        if first and until and not first <= until <= first + MOST_WEEKS * WEEK:
            raise forms.ValidationError(_("Choose a day after the first lesson, within sixty weeks."))
        return until

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if {"day", "time", "time_zone"} <= cleaned.keys():
            weeks = ((cleaned.get("until") or cleaned["day"]) - cleaned["day"]) // WEEK
            with timezone.override(zoneinfo.ZoneInfo(cleaned["time_zone"])):
                # raises a sentence for an hour that the change to summer time skips or doubles
                self.moments = [
                    from_current_timezone(dt.datetime.combine(cleaned["day"] + week * WEEK, cleaned["time"]))
                    for week in range(weeks + 1)
                ]
            self.instance.at = self.moments[0]
        return cleaned


class WorkForm(forms.ModelForm[SetWork]):
    """What to do, how many, until when, for whom."""

    students = Several(
        label=_("For whom"), queryset=Member.objects.none(), widget=forms.CheckboxSelectMultiple
    )

    class Meta:
        model = SetWork
        fields = ("words", "count", "pattern", "due_on")
        labels = {"pattern": _("Measuring sheet")}
        widgets = {"due_on": forms.DateInput(attrs={"type": "date"})}

    def __init__(self, member: Member, lesson: Lesson | None, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        students = Member.objects.visible_to(member).students().select_related("person")
        present = list(lesson.present.values_list("pk", flat=True)) if lesson else []
        self.fields["students"].queryset = students  # type: ignore[attr-defined]
        self.fields["students"].initial = present
        patterns = Pattern.objects.visible_to(member).filter(put_away_at__isnull=True)
        self.fields["pattern"].queryset = patterns  # type: ignore[attr-defined]
        self.fields["pattern"].empty_label = _("any")  # type: ignore[attr-defined]
        self.fields["count"].min_value = 1  # type: ignore[attr-defined]

    def clean_count(self) -> int:
        count: int = self.cleaned_data["count"]
        if not 1 <= count <= 50:
            raise forms.ValidationError(_("From one reed to fifty."))
        return count

    def clean_due_on(self) -> dt.date | None:
        due: dt.date | None = self.cleaned_data["due_on"]
        if due and due < timezone.localdate():
            raise forms.ValidationError(_("That day is over. Choose one to come, or leave it open."))
        return due


class CameOfItForm(forms.Form):
    """Which of the student's reeds came of the work that was set."""

    reeds = Several(
        label=_("Reeds that came of it"),
        queryset=Reed.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, work: SetWork, member: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        chosen = list(work.reeds.values_list("pk", flat=True))
        rows = Reed.objects.visible_to(member).filter(owner=work.student)
        since = rows.filter(made_at__gte=work.set_at - dt.timedelta(days=1))
        if work.pattern_id:
            since = since.filter(version__pattern=work.pattern_id)
        self.fields["reeds"].queryset = (since | rows.filter(pk__in=chosen)).distinct()  # type: ignore[attr-defined]
        self.fields["reeds"].initial = chosen


class MakeForWorkForm(MakeForm):
    """Reeds for the work that was set: as many as are still wanted, to its measuring sheet."""

    def __init__(self, work: SetWork, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        begin = usual(work.student) | {"count": min(max(work.still_wanted, 1), MOST_AT_ONCE)}
        sheet = work.pattern if work.pattern and work.pattern.put_away_at is None else None
        if sheet:
            begin["pattern"] = sheet.pk
        super().__init__(work.student, *args, initial=begin, **kwargs)
        if sheet:
            only = Pattern.objects.visible_to(work.student).filter(pk=sheet.pk)
            self.fields["pattern"].queryset = only  # type: ignore[attr-defined]


class NoteForm(OnceForm):
    """A note of a lesson."""

    words = forms.CharField(
        label=_("Add a note"), required=False, widget=forms.Textarea(attrs={"rows": 3, "maxlength": MAX_NOTE})
    )


class AgreedForm(forms.ModelForm[Lesson]):
    """The one step that was agreed."""

    class Meta:
        model = Lesson
        fields = ("agreed",)
        widgets = {"agreed": forms.Textarea(attrs={"rows": 2})}
