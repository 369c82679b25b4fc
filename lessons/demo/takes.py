"""Recordings in the demo: of three students, heard as the worker hears them, one marked by the teacher."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.core.files.base import ContentFile
from django.db.models import F

from lessons.answering.models import Answer, Mark
from lessons.answering.spans import Span, span_annotation
from lessons.demo.answers import NAMESPACE
from lessons.demo.sounds import A4_HZ, NOISY, Blow, crowed, played, staccato
from lessons.sending.models import Submission
from lessons.sending.need import leaks
from lessons.sending.pages import Later
from reeds.checks.findings import in_order, need_of
from reeds.checks.mending import told
from reeds.numbers.words import Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.sheet.playing_items import PlayingItem
from reeds.take.models import Take
from reeds.take.processing import OFF, Processing
from reeds.take.tasks import listen
from studio.models import Studio

UNKNOWN = Processing()
SOFT = 0.1
BETWEEN = dt.timedelta(minutes=1)
SAID = "It waits for more air here, then jumps: start it with less, and sooner with the tongue."


@dataclass(frozen=True)
class Sound:
    """How one item is played: from the notes and tempo asked and a seed to a file."""

    item: str
    play: Callable[[PlayingItem, int], bytes]
    processing: Processing


def _low(spoke: int, cents: float = 0.0, air: float = 0.04) -> Sound:
    """Low notes softly, of which the first so many speak."""

    def play(item: PlayingItem, seed: int) -> bytes:
        notes = enumerate(item.notes)
        return played([Blow(n, 1.0, cents, SOFT, air, spoke=i < spoke) for i, n in notes], seed)

    return Sound("low_notes", play, OFF)


def _named(
    item: str,
    cents: float,
    seconds: float = 1.5,
    swell: float = 1.0,
    room: float = 2e-4,
    processing: Processing = OFF,
) -> Sound:
    """The notes asked for, one after the other."""

    def play(asked: PlayingItem, seed: int) -> bytes:
        return played([Blow(name, seconds, cents, swell=swell) for name in asked.notes], seed, room=room)

    return Sound(item, play, processing)


def _tongued(uneven: float) -> Sound:
    return Sound("staccato", lambda item, seed: staccato(item.tempo or 80, uneven, seed), OFF)


def _crow(cents: float) -> Sound:
    return Sound("crow", lambda _item, seed: crowed(cents, seed), OFF)


def write_takes(studio: Studio) -> None:
    """Add recordings to the last rounds of three students; the first named compares with a reference reed."""
    first, before, newest = _rounds(studio, "bruno")
    good = first.reed
    Reed.objects.filter(pk=good.pk).update(is_reference=True)
    _record(before, before.reed, [_low(4, -2.0, air=0.16), _named("tuning", -1.0)])
    sitting = [_tongued(0.03), _named("third_octave", 9.0, 1.0), _named("long_tone", 0.0, 4.0, swell=9.0)]
    _record(newest, good, [_low(4, 2.0), _tongued(0.02), _named("tuning", 3.0)])
    _record(newest, newest.reed, [_crow(-12.0), _low(2, -4.0), *sitting, _named("tuning", -2.0)])
    high, noisy = _rounds(studio, "celandine")[-1], _rounds(studio, "dorrit")[-1]
    _record(high, high.reed, [_low(3), _named("tuning", -17.0)])
    in_noise = _named("low_notes", 0.0, 0.8, room=NOISY)
    _record(noisy, noisy.reed, [in_noise, _named("tuning", 1.0, processing=UNKNOWN)])
    for round_ in (before, newest, high, noisy):
        _read_by_the_checks(round_)
    _mark(before)


def _rounds(studio: Studio, username: str) -> list[Submission]:
    rows = Submission.objects.filter(studio=studio, student__person__username=username, stage=Stage.PLAYING)
    newest = rows.select_related("reed__version__pattern", "reed__owner__person").order_by("-sent_at")[:3]
    return list(newest)[::-1]


def _record(round_: Submission, reed: Reed, sounds: list[Sound]) -> None:
    """Record these just before the round was sent."""
    sent_at = round_.sent_at or round_.started_at
    asked = {item.key: item for item in round_.reed.version.test}
    for place, sound in enumerate(sounds):
        moment = sent_at - BETWEEN * (len(sounds) - place)
        round_.takes.add(_take(reed, sound, asked[sound.item], moment))


def _read_by_the_checks(round_: Submission) -> None:
    """Let the checks say what they say where all of it is there as the round is sent: once, of everything."""
    numbers = Measurement.objects.filter(take__in=round_.takes.all())
    numbers.update(entered_at=round_.sent_at)
    round_.takes.update(heard_at=F("at"))
    round_.measurements.add(*numbers.filter(reed=round_.reed_id))
    found = in_order(told(Later(round_).checked, Stage(round_.stage)))
    round_.findings, round_.need = [finding.as_json() for finding in found], need_of(found)
    round_.leaks = leaks(found)
    round_.save(update_fields=["findings", "need", "leaks"])


def _take(reed: Reed, sound: Sound, item: PlayingItem, moment: dt.datetime) -> Take:
    key = uuid.uuid5(NAMESPACE, f"{reed.owner.person.username} {reed.number} {sound.item}")
    take = Take(studio_id=reed.studio_id, reed=reed, by=reed.owner, item=item.key, key=key, at=moment)
    take.granted, take.notes, take.tempo = sound.processing.to_json(), list(item.notes), item.tempo
    take.stage, take.a4_hz = Stage.PLAYING, A4_HZ
    data = sound.play(item, key.int % 2**32)
    take.size_bytes, take.content_type = len(data), "audio/wav"
    take.raw.save("take.wav", ContentFile(data))
    listen.call(take.pk)
    take.refresh_from_db()
    return take


def _mark(round_: Submission) -> None:
    """The teacher's words on the last low note, in the answer that was sent."""
    answer = Answer.objects.filter(submission=round_).first()
    take = round_.takes.filter(item="low_notes").first()
    if answer is None or take is None:
        return
    last_start_s = [note.start_s for note in take.heard.notes if note.start_s is not None][-1]
    key = uuid.uuid5(NAMESPACE, f"span {take.key}")
    span = Span(round(last_start_s - 0.05, 2), round(last_start_s + 0.45, 2), SAID)
    Mark.objects.create(
        studio_id=round_.studio_id,
        answer=answer,
        take=take,
        key=key,
        annotation=span_annotation(span, key),
        made_at=answer.saved_at,
    )
