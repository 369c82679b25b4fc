"""The teacher's hour in the demo: a word said back, a note that is heard, demonstrations, two alike."""

from __future__ import annotations

import datetime as dt
import uuid

from django.core.files.base import ContentFile
from django.utils import timezone

from lessons.answering.models import Answer, Decision, Reply, Written
from lessons.demo import people
from lessons.demo.answers import NAMESPACE
from lessons.demo.pictures import Look, lying
from lessons.demo.sounds import Blow, played
from lessons.demonstration.models import Demonstration
from lessons.demonstration.tasks import prepare_demonstration
from lessons.lesson.models import Lesson
from lessons.lesson.pages.gathered import gathered
from lessons.sending.models import Submission
from lessons.voice.models import Voice
from lessons.voice.tasks import prepare_voice
from reeds.numbers.words import Stage
from reeds.photo.kept import PictureState
from reeds.take.kept import SoundState
from studio.models import Member

SOFTLY = [Blow(note, 1.2, loud=0.12, air=0.02) for note in ("C4", "B3", "Bb3")]
HUMMED = [Blow(note, seconds, swell=0.6) for note, seconds in (("A4", 1.6), ("C5", 0.8), ("A4", 2.2))]
TIED = Look(staple=45.0, thread_end=45.1, length=72.0, scrape=0.0, tip=0.0, thread=2)
HOUR = dt.timedelta(hours=1)


def write_hour(teacher: Member) -> None:
    """Write one of each."""
    leaks = _demonstrations(teacher)
    _answered_alike(teacher)
    answered = Answer.objects.sent().filter(studio=teacher.studio_id)
    _note(teacher, answered.filter(submission__student__person__username="bruno").latest("sent_at"))
    theirs = answered.filter(submission__student__person__username="ephraim").latest("sent_at")
    Answer.objects.filter(pk=theirs.pk).update(demonstration=leaks)
    _to_bring(teacher)
    _said_back(answered.filter(submission__student__person__username="dorrit").earliest("-sent_at"))


def _key(name: str) -> uuid.UUID:
    return uuid.uuid5(NAMESPACE, name)


def _demonstrations(teacher: Member) -> Demonstration:
    """A photo of a well wound blank beside leaks, a recording beside low notes that do not speak."""
    wound = _shown(teacher, people.WOUND, "quantity:airtight", photo=lying(TIED, 5))
    _shown(teacher, people.LOW, "check:recorded", sound=played(SOFTLY, 6))
    return wound


def _shown(
    teacher: Member, told: tuple[str, str], about: str, *, photo: bytes = b"", sound: bytes = b""
) -> Demonstration:
    title, words = told
    row = Demonstration(studio=teacher.studio, made_by=teacher, title=title, words=words, about=about)
    row.key = _key(title)
    if photo:
        row.photo_state = PictureState.WAITING
        row.photo_raw.save("raw.jpg", ContentFile(photo), save=False)
    if sound:
        row.sound_state = SoundState.WAITING
        row.sound_raw.save("raw.wav", ContentFile(sound), save=False)
    row.save()
    prepare_demonstration.call(row.pk)
    return row


def _note(teacher: Member, answer: Answer) -> None:
    """A note that goes along with an answer."""
    voice = Voice(studio=teacher.studio, by=teacher, key=_key("note"), sound_state=SoundState.WAITING)
    voice.sound_raw.save("voice.wav", ContentFile(played(HUMMED, 7)))
    prepare_voice.call(voice.pk)
    Answer.objects.filter(pk=answer.pk).update(voice=voice)


def _answered_alike(teacher: Member) -> None:
    """Two blanks on which nothing was found, answered at once, each with its own number."""
    rows = Submission.objects.waiting().filter(studio=teacher.studio_id, stage=Stage.TIED, need=0)
    chosen = rows.select_related("reed").order_by("sent_at")[:2]
    written, moment = Written(people.ALIKE, Decision.REST), timezone.now() - 4 * HOUR
    for row in chosen:
        Answer.objects.create(
            studio=teacher.studio,
            submission=row,
            author=teacher,
            template=vars(written),
            together=_key("alike"),
            saved_at=moment,
            sent_at=moment,
            **vars(written.about(row.reed.number)),
        )
        Submission.objects.filter(pk=row.pk).update(answered_at=moment)


def _to_bring(teacher: Member) -> None:
    """One of the answers since somebody's last lesson asks for the reed at the next."""
    coming = Lesson.objects.filter(studio=teacher.studio_id, at__gt=timezone.now()).order_by("at")
    for one in (one for lesson in coming for one in gathered(lesson, teacher)):
        answers = Answer.objects.sent().filter(submission__student=one.student, together=None, voice=None)
        since = answers.filter(sent_at__gt=one.since)
        if lately := since.order_by("-sent_at").first():
            told = {"decision": Decision.BRING, "next_step": people.BRING, "caution": ""}
            Answer.objects.filter(pk=lately.pk).update(**told)
            return


def _said_back(answer: Answer) -> None:
    """What a student wrote under an answer; no teacher has read it yet."""
    read = min((answer.sent_at or answer.saved_at) + 20 * HOUR, timezone.now() - HOUR)
    Submission.objects.filter(pk=answer.submission_id).update(read_at=read)
    Reply.objects.create(
        studio_id=answer.studio_id,
        submission_id=answer.submission_id,
        by=answer.submission.student,
        words=people.SAID_BACK,
        key=_key("said back"),
        at=read,
    )
