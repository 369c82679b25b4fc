"""What stands in one member's calendar: lessons, work that is due, blanks that have rested enough.

A calendar lies open on phones that others see and is kept by services that are not ours. So nobody's words
are in it (not what was agreed, not what the work is), nor the name of anybody under age.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lessons.calendar.ics import Entry, written
from lessons.lesson.models import Lesson, SetWork
from reeds.reed.pages import blanks_of
from studio.models import Member

# what is further back is looked up on the site; own choice, no source
BACK = dt.timedelta(days=60)
MOST = 1000


def calendar_of(member: Member, now: dt.datetime) -> bytes:
    """Return the member's calendar as it is to be sent."""
    entries = [*_lessons(member, now), *_work(member, now), *_rested(member, now)]
    name = _("Reeds, %(studio)s") % {"studio": member.studio}
    return written(entries, name, urlsplit(settings.SITE_ADDRESS).hostname or "localhost", now)


def _address(member: Member, name: str, pk: int) -> str:
    return f"{settings.SITE_ADDRESS}{member.to(name, pk)}"


def _lessons(member: Member, now: dt.datetime) -> Iterator[Entry]:
    rows = Lesson.objects.visible_to(member).filter(at__gte=now - BACK).order_by("at", "pk")
    for row in rows.prefetch_related("present__person")[:MOST]:
        title = _lesson_with(list(row.present.all())) if member.teaches else _("Lesson")
        yield Entry(f"lesson-{row.pk}", row.at, title, _address(member, "lessons:lesson", row.pk), True)


def _lesson_with(present: Sequence[Member]) -> str:
    names = [str(one) for one in present if not one.under_age]
    unnamed = len(present) - len(names)
    if not present:
        return _("Lesson")
    if not names:
        title = ngettext("Lesson with %(n)d student", "Lesson with %(n)d students", unnamed)
    elif unnamed:
        title = _("Lesson with %(names)s and %(n)d more")
    else:
        title = _("Lesson with %(names)s")
    return title % {"names": ", ".join(names), "n": unnamed}


def _work(member: Member, now: dt.datetime) -> Iterator[Entry]:
    """Work still to be done, on the day by which it is due."""
    rows = SetWork.objects.visible_to(member).filter(done_at__isnull=True, due_on__gte=now - BACK)
    for row in rows.filter(student__left_at__isnull=True).select_related("student__person")[:MOST]:
        title = ngettext("%(n)d reed due", "%(n)d reeds due", row.count) % {"n": row.count}
        if member.teaches and not row.student.under_age:
            title = _("%(what)s: %(who)s") % {"what": title, "who": row.student}
        if row.due_on:
            yield Entry(f"work-{row.pk}", row.due_on, title, _address(member, "lessons:work", row.pk))


def _rested(member: Member, now: dt.datetime) -> Iterator[Entry]:
    """One's own blanks, from the moment at which each has rested as long as its sheet asks."""
    for blank in blanks_of(member, own=True)[:MOST]:
        if blank.ready_at >= now - BACK:
            title = _("Reed %(number)d has rested enough") % {"number": blank.number}
            address = _address(member, "reeds:reed", blank.pk)
            yield Entry(f"rested-{blank.pk}", blank.ready_at, title, address)
