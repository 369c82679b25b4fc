"""Which pages and pictures a student's phone keeps: what one reaches for in a room without a signal."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import Any

from django.urls import reverse

from lessons.sending.models import Submission
from reeds.numbers.words import Stage
from reeds.photo.models.photo import Photo
from reeds.reed.models.reed import Reed
from studio.models import Member, studios_of

# a phone's room and a line's time are not ours: the reeds one works on, the last answers, small pictures
MOST_REEDS = 24
MOST_ANSWERS = 8
MOST_WAITING = 8
MOST_PICTURES = 24
OVER = (Stage.PLAYED_OUT, Stage.GIVEN_UP)


def to_keep(member: Member) -> dict[str, Any]:
    """Return the addresses: pages, pictures, and where the addresses of beginning lead."""
    reeds = own_unfinished(member)
    answered, waiting = last_rounds(member)
    rounds = [*answered, *waiting]
    return {
        "leads": _leads(member),
        "pages": [
            *(member.to(name) for name in ("lessons:desk", "lessons:send", "reeds:box", "reeds:reeds")),
            *(member.to(name, reed.pk) for reed in reeds for name in ("lessons:draft", "lessons:limits")),
            *(member.to("lessons:round", row.pk) for row in rounds),
            *(member.to("reeds:reed", reed.pk) for reed in reeds),
            *_sheets(member, reeds),
        ],
        "pictures": [
            *(member.to("reeds:photo", photo.pk, "screen") for photo in _photos_of(member, answered)),
            *(member.to("reeds:photo", photo.pk, "thumbnail") for photo in _newest_photos(member)),
        ],
    }


def own_unfinished(member: Member) -> list[Reed]:
    """Return the reeds this member still has before them, the last touched first."""
    own = Reed.objects.visible_to(member).filter(owner=member).exclude(stage__in=OVER)
    return list(own.select_related("version").order_by("-stage_since", "-number")[:MOST_REEDS])


def last_rounds(member: Member) -> tuple[list[Submission], list[Submission]]:
    """Return the rounds answered last, and those that wait."""
    own = Submission.objects.visible_to(member).filter(student=member, answered_with__isnull=True)
    answered = own.filter(answered_at__isnull=False).order_by("-answered_at")[:MOST_ANSWERS]
    return list(answered), list(own.waiting().order_by("-sent_at")[:MOST_WAITING])


def _photos_of(member: Member, rounds: Iterable[Submission]) -> Iterable[Photo]:
    """Return the photos of these rounds, those of the first round first."""
    order = {row.pk: place for place, row in enumerate(rounds)}
    rows = Photo.objects.visible_to(member).filter(submissions__in=order).distinct()
    ready = [photo for photo in rows.prefetch_related("submissions") if photo.is_ready]

    def first(photo: Photo) -> int:
        return min(order.get(row.pk, len(order)) for row in photo.submissions.all())

    return islice(sorted(ready, key=lambda photo: (first(photo), photo.pk)), MOST_PICTURES)


def _newest_photos(member: Member) -> Iterable[Photo]:
    """Return those whose thumbnails stand on desk, box and drafts."""
    rows = Photo.objects.visible_to(member).filter(reed__owner=member).order_by("-pk")
    return [photo for photo in rows[:MOST_PICTURES] if photo.is_ready]


def _sheets(member: Member, reeds: Iterable[Reed]) -> list[str]:
    """Return the sheets of these reeds, each in the version that its reeds are made by."""
    versions = dict.fromkeys((reed.version.pattern_id, reed.version.number) for reed in reeds)
    return [f"{member.to('reeds:pattern', pattern)}?version={number}" for pattern, number in versions]


def _leads(member: Member) -> dict[str, str]:
    """Return where one is led from the addresses of beginning; whoever is in several studios chooses."""
    desk = member.to("lessons:desk")
    own = {member.to("home"): desk}
    return {reverse("start"): desk, **own} if len(studios_of(member.person)) == 1 else own
