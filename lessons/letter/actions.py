"""What a teacher does with a letter: begun, kept while it grows, given; each is one transaction."""

from __future__ import annotations

import uuid
from collections.abc import Sequence

from django.core.files import File
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from lessons.letter.models import MOST, Letter, LetterPicture, PressState, TermReport
from lessons.letter.sheet import LetterOnPaper
from lessons.letter.tasks import TOO_LONG, press_letter, press_report, tell_of_letter
from lessons.letter.written import Picture, Written
from lessons.voice.actions import add_voice, drop_unheld
from lessons.voice.models import Voice
from reeds.photo.models.photo import Photo
from studio.errors import NotPossible
from studio.files import delete_after_commit
from studio.models import Member, Term


def draft_of(student: Member, term: Term) -> Letter:
    """Return the open draft of a student's letter of a term, begun now if there is none."""
    drafts = Letter.objects.of(student, term).drafts()
    return drafts.first() or _begun(student, term)


def _begun(student: Member, term: Term) -> Letter:
    rows = Letter.objects.of(student, term)
    last = rows.aggregate(last=Max("version"))["last"] or 0
    days = {"term_name": term.name, "starts_on": term.starts_on, "ends_on": term.ends_on}
    told = {"studio_id": term.studio_id, "version": last + 1, "language": student.person.reads, **days}
    try:
        with transaction.atomic():
            return Letter.objects.create(student=student, term=term, **told)
    except IntegrityError:  # another window began it at the same moment
        return rows.drafts().get()


def _open(letter: Letter) -> Letter:
    """Return the draft locked for this transaction, if it can still be changed."""
    locked = Letter.objects.select_for_update().filter(pk=letter.pk).first()
    if locked is None:
        raise NotPossible(_("This draft was thrown away meanwhile. Your words are still on this page."))
    if not locked.is_draft:
        raise NotPossible(_("This letter was given meanwhile. Write a new version to change it."))
    return locked


@transaction.atomic
def keep(letter: Letter, written: Written, since: str = "") -> None:
    """Keep what was written; `since` is the time of the draft that the page began from."""
    written.check()
    locked = _open(letter)
    if locked.saved_at and since != locked.saved_at.isoformat():
        raise NotPossible(
            _("This letter was changed in another window. Yours stands below: keep it again to replace that.")
        )
    texts = {kind: list(getattr(written, kind)) for kind in MOST}
    Letter.objects.filter(pk=letter.pk).update(
        **texts, words=written.words, next_aim=written.next_aim, saved_at=timezone.now()
    )
    _choose(locked, written.pictures)
    ask_to_press(locked)
    letter.refresh_from_db()


def _choose(letter: Letter, pictures: Sequence[Picture]) -> None:
    """Put these photos in place of those chosen before; only what the student may see is taken."""
    letter.pictures.all().delete()
    if not letter.student.may_send_pictures:
        return
    own = Photo.objects.visible_to(letter.student).filter(reed__owner=letter.student)
    known = set(own.filter(pk__in=[one.photo for one in pictures]).values_list("pk", flat=True))
    LetterPicture.objects.bulk_create(
        LetterPicture(
            studio_id=letter.studio_id, letter=letter, photo_id=one.photo, place=place, caption=one.caption
        )
        for place, one in enumerate(pictures, 1)
        if one.photo in known
    )


@transaction.atomic
def give(letter: Letter, by: Member) -> None:
    """Give a letter: its student reads it from now on, and it is changed no more. Twice is once."""
    locked = Letter.objects.select_for_update().filter(pk=letter.pk).first()
    if locked is None:
        raise NotPossible(_("This draft was thrown away meanwhile."))
    if not locked.is_draft:
        return
    if not locked.says_something:
        raise NotPossible(_("There is nothing in it yet: write or choose something first."))
    if locked.pdf_refusal == TOO_LONG and locked.pdf_of == LetterOnPaper(locked).mark:
        raise NotPossible(_(TOO_LONG))
    Letter.objects.filter(pk=letter.pk).update(given_at=timezone.now(), given_by=by, voice=None)
    _drop(locked.voice)
    ask_to_press(locked)
    tell_of_letter.enqueue(letter.pk)


@transaction.atomic
def throw_away(letter: Letter) -> None:
    """Throw a draft away, with its PDF and its spoken note; one that was given stays."""
    locked = _open(letter)
    if locked.pdf:
        delete_after_commit([locked.pdf])
    voice = locked.voice
    locked.delete()
    _drop(voice)


@transaction.atomic
def ask_to_press(letter: Letter) -> None:
    """Have the PDF made of the letter as it stands."""
    Letter.objects.filter(pk=letter.pk).update(pdf_state=PressState.WAITING)
    press_letter.enqueue(letter.pk)


@transaction.atomic
def keep_report(term: Term, by: Member, html: str) -> TermReport:
    """Keep the studio's report of a term as it stands now, in place of the one before, and have it made."""
    kept = {"made_by": by, "made_at": timezone.now(), "html": html, "pdf_state": PressState.WAITING}
    row, _new = TermReport.objects.update_or_create(studio_id=term.studio_id, term=term, defaults=kept)
    press_report.enqueue(row.pk)
    return row


# --- a spoken note, to be written down ---------------------------------------------------------------------


def put_voice(letter: Letter, by: Member, upload: File[bytes], key: uuid.UUID) -> Voice:
    """Keep a note in a draft, in the place of the one before; the same key twice keeps one."""
    with transaction.atomic():
        _open(letter)
    voice = add_voice(by, upload, key)
    try:
        _hold(letter, voice)
    except NotPossible:  # given meanwhile from another window
        drop_now(voice)
        raise
    voice.refresh_from_db()  # a worker may be quick
    return voice


@transaction.atomic
def drop_voice(letter: Letter) -> None:
    """Take the note out of a draft; twice is once."""
    _hold(letter, None)


@transaction.atomic
def _hold(letter: Letter, voice: Voice | None) -> None:
    before = _open(letter).voice
    Letter.objects.filter(pk=letter.pk).update(voice=voice)
    if before != voice:
        _drop(before)


@transaction.atomic
def drop_now(voice: Voice) -> None:
    """Delete a note that nothing holds."""
    _drop(voice)


def _drop(voice: Voice | None) -> None:
    if voice is not None:
        drop_unheld(voice)
