"""What a student does: a draft that grows, then is sent. Each function is one transaction."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.core.files import File
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from lessons.sending.models import MAX_QUESTION, Submission
from lessons.sending.need import leaks
from lessons.sending.tasks import tell_of_round
from lessons.sending.typed import Round, Save, now_ms
from reeds.checks.findings import need_of
from reeds.photo.actions.look import ask_to_look
from reeds.photo.actions.photo import MAX_PHOTOS, add_photo, take_back_photo
from reeds.photo.models.photo import Photo, PhotoState, View
from reeds.reed.actions import record
from reeds.reed.arrivals import check_consent
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.actions import add_take, withdraw
from reeds.take.models import Take, TakeState
from reeds.take.processing import Processing
from studio.access import Seer
from studio.errors import NotPossible
from studio.models import Member
from studio.prepared import anybody_of, prepared

MAX_TAKES = 24


def draft_of(reed: Reed, student: Member) -> Submission:
    """Return the reed's open draft, begun now if there is none; two pages at once share one."""
    draft = Submission.objects.next_round(reed, student)
    if draft.is_begun:
        return draft
    try:
        with transaction.atomic():
            draft.save(force_insert=True)
    except IntegrityError:  # begun by another tap meanwhile, perhaps sent by now
        return Submission.objects.filter(studio=reed.studio_id, reed=reed).latest("round")
    return draft


class SentMeanwhile(NotPossible):
    """The round one is still typing in was sent from another page."""

    def __init__(self, submission: Submission) -> None:
        super().__init__(_("This round was sent meanwhile, from another page."))
        self.submission = submission


def still_a_draft(draft: Submission) -> Submission:
    """Lock the row until the transaction ends, so that two taps come one after the other."""
    found = _locked(anybody_of(draft.studio_id), draft.pk)
    if not found:
        raise Submission.DoesNotExist
    if found[0].sent_at:
        raise SentMeanwhile(found[0])
    return found[0]


@prepared
def _locked(member: Seer, pk: int) -> QuerySet[Submission]:
    return Submission.objects.select_for_update().filter(studio=member.studio_id, pk=pk)


@transaction.atomic
def save_draft(draft: Submission, save: Save) -> None:
    """Keep what was typed, as it was typed; what another page typed elsewhere on the form stays."""
    locked = still_a_draft(draft)
    _merge(locked, save)
    draft.draft, draft.question = locked.draft, locked.question


def _merge(locked: Submission, save: Save) -> None:
    newer = save.not_before(locked.typed_at, now_ms())
    typed = {name: text for name, text in save.fields.items() if name in newer}
    locked.question = typed.pop("question", locked.question)[:MAX_QUESTION]
    locked.draft = {**locked.draft, **typed}
    locked.typed_at = {**locked.typed_at, **newer}
    locked.save(update_fields=["draft", "question", "typed_at"])


# --- what goes along as a file ---

Row = TypeVar("Row", Photo, Take)


@dataclass(frozen=True)
class Enclosure(Generic[Row]):
    """Photos or recordings: where they hang on a draft, how many may, how one goes back, what is said."""

    relation: str
    most: int
    full: str
    removed: str
    take_back: Callable[[Row], None]

    def of(self, draft: Submission) -> Any:  # noqa: ANN401  # a related manager, which Django makes
        return getattr(draft, self.relation)

    def room_for_one(self, draft: Submission) -> None:
        """Raise NotPossible if the draft holds as many as it may."""
        if self.of(draft).count() >= self.most:
            raise NotPossible(self.said_full)

    @property
    def said_full(self) -> str:
        """What is said where no more go along."""
        return _(self.full) % {"most": self.most}


PHOTOS = Enclosure[Photo](
    "photos",
    MAX_PHOTOS,
    gettext_noop("There are %(most)s photos already. Remove one before you add another."),
    gettext_noop("This photo was removed."),
    take_back_photo,
)
TAKES = Enclosure[Take](
    "takes",
    MAX_TAKES,
    gettext_noop("There are %(most)s recordings already. Remove one before you add another."),
    gettext_noop("This recording was removed."),
    withdraw,
)


def attach_photo(
    draft: Submission, student: Member, upload: File[bytes], key: uuid.UUID, view: str = ""
) -> Photo:
    """Add a photo to a draft; one that came before is answered with what is kept of it."""
    return _attach(draft, PHOTOS, key, lambda: add_photo(draft.reed, student, upload, key, view))


def attach_take(  # noqa: PLR0913  # what a recording is: of which reed, of what, with which recorder
    draft: Submission,
    reed: Reed,
    student: Member,
    upload: File[bytes],
    key: uuid.UUID,
    item: PlayingItem,
    processing: Processing,
) -> Take:
    """Add a recording to a draft; one that came before is answered with what is kept of it.

    `reed` is the draft's own, or the student's reference reed played in the same sitting.
    """
    return _attach(draft, TAKES, key, lambda: add_take(reed, student, upload, key, item, processing))


def come_before(draft: Submission, kind: Enclosure[Row], key: uuid.UUID) -> Row | None:
    """Return the photo or recording of this key if it came already: its sender may not have heard of it."""
    there: Row | None = kind.of(draft).filter(key=key).first()
    return there


def would_take(draft: Submission, student: Member, kind: Enclosure[Row]) -> None:
    """Raise NotPossible if one more, sent now, would be refused before it was looked at."""
    if draft.sent_at:
        raise SentMeanwhile(draft)
    check_consent(draft.reed, student)
    kind.room_for_one(draft)


def _attach(draft: Submission, kind: Enclosure[Row], key: uuid.UUID, add: Callable[[], Row]) -> Row:
    try:
        if draft.sent_at:
            raise SentMeanwhile(draft)
        kind.room_for_one(draft)
    except NotPossible:
        if there := come_before(draft, kind, key):
            return there
        raise
    row = add()
    if row.taken_back_at:  # a late second try of one that was removed meanwhile
        raise NotPossible(_(kind.removed))
    try:
        with transaction.atomic():
            locked = still_a_draft(draft)
            kind.room_for_one(locked)
            kind.of(locked).add(row)
    except NotPossible:
        if twin := come_before(draft, kind, key):  # another try of the same came to its end meanwhile
            return twin
        kind.take_back(row)
        raise
    # a worker may be quick; whose it is stays
    row.refresh_from_db(fields=[one.name for one in row._meta.concrete_fields if not one.is_relation])
    return row


@transaction.atomic
def remove(draft: Submission, kind: Enclosure[Row], row: Row) -> None:
    """Take a photo or a recording out of a draft; one of a round that was sent stays."""
    still_a_draft(draft)
    kind.of(draft).remove(row)
    if not row.submissions.exists():
        kind.take_back(row)


@transaction.atomic
def name_view(draft: Submission, photo: Photo, view: str) -> None:
    """Note from where a photo of a draft was taken; it is looked at anew where that changes what it shows."""
    still_a_draft(draft)
    if view and view not in View.values:
        raise NotPossible(_("There is no such view of a reed."))
    Photo.objects.filter(pk=photo.pk).update(view=view)
    photo.view = view
    ask_to_look(photo)


# --- sending ---


def holds(sent: Submission, save: Save) -> bool:
    """Return whether a round that was sent holds all that this page typed last: then it is a second tap."""
    kept = {**sent.draft, "question": sent.question.strip()}
    newer = save.not_before(sent.typed_at, now_ms())
    return all(save.fields[name].strip() == kept.get(name, "").strip() for name in newer)


def was_taken_out(student: Member, reed_pk: int) -> bool:
    """Return whether this was a reed of the student's own that somebody took out."""
    return Reed.objects.filter(pk=reed_pk, owner=student, taken_out_at__isnull=False).exists()


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
    locked.leaks = leaks(holds.findings)
    locked.save()
    tell_of_round.enqueue(locked.pk)


@transaction.atomic
def take_back(sent: Submission) -> None:
    """Make a round that nobody has looked at a draft again, with all that it holds; sent twice is once.

    What it wrote down of the reed goes with it: it is written anew when the draft is sent.
    """
    locked = Submission.objects.select_for_update().get(pk=sent.pk)
    if not locked.sent_at:
        return
    if not locked.is_unseen:
        raise NotPossible(
            _("This round cannot be taken back any more. What was forgotten can go with the next round.")
        )
    Submission.objects.drafts().filter(reed=locked.reed_id).delete()  # one that was only looked at
    locked.measurements.filter(photo__isnull=True, take__isnull=True).delete()
    locked.measurements.clear()
    if locked.playing_test:
        locked.playing_test.delete()
    Submission.objects.filter(pk=locked.pk).update(
        sent_at=None, stage="", version=None, playing_test=None, findings=[], need=0, leaks=False
    )


def _playing_test(reed: Reed, student: Member, holds: Round) -> PlayingTest | None:
    if not holds.played:
        return None
    test = PlayingTest.objects.create(studio_id=reed.studio_id, reed=reed, by=student, effort=holds.effort)
    Rating.objects.bulk_create(
        Rating(studio_id=reed.studio_id, test=test, item=item, speaks=speaks)
        for item, speaks in holds.ratings.items()
    )
    return test
