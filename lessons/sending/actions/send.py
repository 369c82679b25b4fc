"""What a student does: a draft that grows, then is sent. Each function is one transaction."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from django.core.files import File
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.sending.models import Submission
from lessons.sending.tasks import tell_of_round
from reeds.checks.findings import Finding, need_of
from reeds.photo.actions import photo as photos
from reeds.photo.models.photo import Photo, PhotoState, View
from reeds.reed.actions import Entry, record
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed
from reeds.take.models import TakeState
from studio.errors import NotPossible
from studio.models import Member

MAX_QUESTION = 2000
MAX_PHONES = 12


def draft_of(reed: Reed, student: Member) -> Submission:
    """Return the reed's open draft, begun now if there is none; two pages at once share one."""
    there = Submission.objects.drafts().filter(reed=reed).first()
    if there:
        return there
    try:
        with transaction.atomic():
            last = Submission.objects.filter(reed=reed).aggregate(last=Max("round"))["last"] or 0
            return Submission.objects.create(
                studio_id=reed.studio_id, reed=reed, student=student, round=last + 1
            )
    except IntegrityError:  # begun by another tap meanwhile
        return Submission.objects.drafts().get(reed=reed)


class SentMeanwhile(NotPossible):
    """The round one is still typing in was sent from another page."""

    def __init__(self, submission: Submission) -> None:
        super().__init__(_("This round was sent meanwhile, from another page."))
        self.submission = submission


def still_a_draft(draft: Submission) -> Submission:
    """Lock the row until the transaction ends, so that two taps come one after the other."""
    locked = Submission.objects.select_for_update().get(pk=draft.pk)
    if locked.sent_at:
        raise SentMeanwhile(locked)
    return locked


@dataclass(frozen=True)
class Save:
    """What one page typed since the server last answered it.

    `phone` names the browser and `number` counts its saves: of two saves of one phone that overtake each
    other on the way, the one typed later stays.
    """

    typed: Mapping[str, str]
    question: str | None = None
    phone: str = ""
    number: int = 0


@transaction.atomic
def save_draft(draft: Submission, save: Save) -> None:
    """Keep what was typed, as it was typed; what another page typed elsewhere on the form stays."""
    locked = still_a_draft(draft)
    _merge(locked, save)
    draft.draft, draft.question = locked.draft, locked.question


def _merge(locked: Submission, save: Save) -> None:
    if _overtaken(locked, save):
        return
    locked.draft = {**locked.draft, **save.typed}
    locked.question = locked.question if save.question is None else save.question[:MAX_QUESTION]
    locked.saves = _noted(locked.saves, save)
    locked.save(update_fields=["draft", "question", "saves"])


def _overtaken(locked: Submission, save: Save) -> bool:
    return bool(save.phone) and save.number <= locked.saves.get(save.phone, 0)


def _noted(saves: dict[str, int], save: Save) -> dict[str, int]:
    if not save.phone:
        return saves
    others = {phone: number for phone, number in saves.items() if phone != save.phone}
    return {**dict(list(others.items())[1 - MAX_PHONES :]), save.phone: save.number}


def attach_photo(
    draft: Submission, student: Member, upload: File[bytes], key: uuid.UUID, view: str = ""
) -> Photo:
    """Add a photo to a draft; one that came before is answered with what is kept of it."""
    there = draft.photos.filter(key=key).first()
    if there:
        return there
    if draft.sent_at:
        raise SentMeanwhile(draft)
    _room_for_one(draft)
    photo = photos.add_photo(draft.reed, student, upload, key, view)
    if photo.taken_back_at:  # a late second try of a photo that was removed meanwhile
        raise NotPossible(_("This photo was removed."))
    try:
        with transaction.atomic():
            locked = still_a_draft(draft)
            _room_for_one(locked)
            locked.photos.add(photo)
    except NotPossible:
        photos.take_back_photo(photo)
        raise
    photo.refresh_from_db()  # a worker may be quick
    return photo


def _room_for_one(draft: Submission) -> None:
    if draft.photos.count() >= photos.MAX_PHOTOS:
        raise NotPossible(
            _("There are %(most)s photos already. Remove one before you add another.")
            % {"most": photos.MAX_PHOTOS}
        )


@transaction.atomic
def name_view(draft: Submission, photo: Photo, view: str) -> None:
    """Note from where a photo of a draft was taken."""
    still_a_draft(draft)
    if view and view not in View.values:
        raise NotPossible(_("There is no such view of a reed."))
    Photo.objects.filter(pk=photo.pk).update(view=view)
    photo.view = view


@transaction.atomic
def remove_photo(draft: Submission, photo: Photo) -> None:
    """Take a photo out of a draft; a photo of a round that was sent stays."""
    still_a_draft(draft)
    draft.photos.remove(photo)
    if not photo.submissions.exists():
        photos.take_back_photo(photo)


def holds(sent: Submission, save: Save) -> bool:
    """Return whether a round that was sent holds all that this page typed: then it is a second tap."""
    same = all(sent.draft.get(name, "") == text for name, text in save.typed.items())
    return same and (save.question is None or save.question.strip() == sent.question.strip())


def was_taken_out(student: Member, reed_pk: int) -> bool:
    """Return whether this was a reed of the student's own that somebody took out."""
    return Reed.objects.filter(pk=reed_pk, owner=student, taken_out_at__isnull=False).exists()


@dataclass(frozen=True)
class Round:
    """What a round holds beside its photos and its question."""

    entries: list[Entry]
    ratings: Mapping[str, int]
    effort: int | None
    findings: list[Finding]
    efforts: Mapping[str, int] = field(default_factory=dict)

    @property
    def played(self) -> bool:
        """Whether anything of the playing test was noted."""
        return bool(self.ratings or self.efforts or self.effort is not None)


# from a locked draft to all that it holds, checked; NotPossible where something typed cannot be read
Reader = Callable[[Submission], Round]


def send(draft: Submission, save: Save, read: Reader) -> None:
    """Send a round with what was typed: its numbers become the reed's, its findings are kept beside them.

    The draft and its reed are locked while what was typed is merged, read, checked and stored, so that what
    is stored is what was checked. A refusal sends nothing and keeps what was typed.
    """
    with transaction.atomic():
        locked = still_a_draft(draft)
        locked.reed = Reed.objects.select_for_update().get(pk=locked.reed_id)
        _merge(locked, save)
        refusal = _sent_or_refused(locked, read)
    draft.draft, draft.question = locked.draft, locked.question
    if refusal:
        raise refusal


def _sent_or_refused(locked: Submission, read: Reader) -> NotPossible | None:
    try:
        with transaction.atomic():  # what is refused leaves no number behind
            _send(locked, read(locked))
    except NotPossible as refusal:
        return refusal
    return None


def _send(locked: Submission, holds: Round) -> None:
    reed, student = locked.reed, locked.student
    shown = locked.photos.exclude(state=PhotoState.REFUSED)
    heard = locked.takes.exclude(state=TakeState.REFUSED)
    typed = holds.entries or holds.played or locked.question.strip()
    if not (typed or shown.exists() or heard.exists()):
        raise NotPossible(_("Add a photo, a number or a question before you send it."))
    typed_now = record(reed, student, holds.entries)
    locked.measurements.set([*locked.measured, *typed_now])
    locked.playing_test = _playing_test(reed, student, holds)
    locked.sent_at, locked.stage, locked.version = timezone.now(), reed.stage, reed.version
    locked.findings, locked.need = [found.as_json() for found in holds.findings], need_of(holds.findings)
    locked.save()
    transaction.on_commit(lambda: tell_of_round.enqueue(locked.pk))


def _playing_test(reed: Reed, student: Member, holds: Round) -> PlayingTest | None:
    if not holds.played:
        return None
    test = PlayingTest.objects.create(studio_id=reed.studio_id, reed=reed, by=student, effort=holds.effort)
    noted = dict.fromkeys([*holds.ratings, *holds.efforts])
    Rating.objects.bulk_create(
        Rating(
            studio_id=reed.studio_id,
            test=test,
            item=item,
            speaks=holds.ratings.get(item),
            effort=holds.efforts.get(item),
        )
        for item in noted
    )
    return test
