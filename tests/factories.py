"""Rows for tests: factory-boy, with neutral names."""

from __future__ import annotations

import datetime as dt
import functools
import io
import math
import uuid
import zoneinfo

import factory
import numpy as np
import pillow_heif
from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from lessons.answering.annotation import read_drawn, to_annotation
from lessons.answering.models import Answer
from lessons.answering.spans import Span, span_annotation
from lessons.comparison.actions import set_plan
from lessons.comparison.models import PlannedComparison
from lessons.demonstration.models import Demonstration
from lessons.export.models import Export
from lessons.letter.models import Letter
from lessons.log.actions.keep import Upload, keep
from lessons.log.models import ReedLog
from lessons.sending.models import Submission
from lessons.voice.models import Voice
from reeds.photo.models.measuring import LookState, PhotoMeasuring
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.starters import SHORT_SCRAPE
from reeds.take.models import Take
from reeds.take.sound.analysis import analyse
from reeds.take.sound.contours import contours_of
from reeds.take.sound.decode import decode_take
from reeds.take.sound.stored import contours_to_json, heard_to_json
from reeds.take.sound.tracks import tracks_of
from studio.models import Invitation, Member, Person, Role, Studio, Term

pillow_heif.register_heif_opener()


def today() -> dt.date:
    """Return the day it is in a studio that says no zone of its own: near midnight it is not UTC's."""
    return timezone.localdate(timezone=zoneinfo.ZoneInfo(Studio._meta.get_field("time_zone").default))


class PersonFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Person

    username = factory.Sequence("person{}".format)
    name = factory.Sequence("Person {}".format)
    email = factory.LazyAttribute(lambda person: f"{person.username}@example.org")


class StudioFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Studio

    name = factory.Sequence("Studio {}".format)


class MemberFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Member

    studio = factory.SubFactory(StudioFactory)
    person = factory.SubFactory(PersonFactory)
    role = Role.STUDENT


class InvitationFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Invitation

    invited_by = factory.SubFactory(MemberFactory, role=Role.TEACHER)
    studio = factory.SelfAttribute("invited_by.studio")
    name = factory.Sequence("Newcomer {}".format)


class TermFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Term

    name = "Autumn"


class PatternFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Pattern

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence("Pattern {}".format)
    style = "short"


class VersionFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = PatternVersion

    pattern = factory.SubFactory(PatternFactory)
    studio = factory.SelfAttribute("pattern.studio")
    number = 1
    data = factory.LazyFunction(SHORT_SCRAPE.to_json)


class LetterFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Letter

    term = factory.SubFactory(TermFactory)
    student = factory.SubFactory(MemberFactory)
    studio = factory.SelfAttribute("student.studio")
    term_name = factory.SelfAttribute("term.name")
    starts_on = factory.SelfAttribute("term.starts_on")
    ends_on = factory.SelfAttribute("term.ends_on")


class CaneFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = CaneLot

    owner = factory.SubFactory(MemberFactory)
    studio = factory.SelfAttribute("owner.studio")
    label = "a bag"


class ReedFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Reed

    owner = factory.SubFactory(MemberFactory)
    studio = factory.SelfAttribute("owner.studio")
    number = factory.Sequence(lambda n: n + 1001)  # no test that names a number goes so far
    version = factory.SubFactory(VersionFactory, pattern__studio=factory.SelfAttribute("...studio"))
    staple_length = 45.0
    stage = "tied"


class SubmissionFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Submission

    reed = factory.SubFactory(ReedFactory)
    studio = factory.SelfAttribute("reed.studio")
    student = factory.SelfAttribute("reed.owner")


def teacher(**given: object) -> Member:
    return MemberFactory(role=Role.TEACHER, **given)


def student(**given: object) -> Member:
    return MemberFactory(role=Role.STUDENT, **given)


def assistant(**given: object) -> Member:
    return MemberFactory(role=Role.ASSISTANT, **given)


def guardian(*children: Member, **given: object) -> Member:
    """Return a guardian with a sign-in of their own; of children of one studio."""
    row = MemberFactory(role=Role.GUARDIAN, studio=children[0].studio, **given)
    row.children.set(children)
    return row


def planned_comparison(
    teacher: Member, students: list[Member], *, with_blanks: bool = False, **given: object
) -> PlannedComparison:
    """Return a comparison of two rests as a teacher plans it."""
    until = today() + dt.timedelta(days=100)
    wanted = {
        "differs": "rest",
        "one": "1",
        "other": "56",
        "outcome": "played",
        "blanks_each": 4,
        "until": until,
    }
    return set_plan(PlannedComparison(**wanted | given), teacher, students, with_blanks=with_blanks)


def picture(width: int = 80, height: int = 60, format: str = "JPEG", **save: object) -> bytes:
    """Return the bytes of a small picture, left half dark, right half light."""
    image = Image.new("RGB", (width, height), "#3a2c18")
    image.paste("#e8d9b0", (width // 2, 0, width, height))
    buffer = io.BytesIO()
    image.save(buffer, format, **save)
    return buffer.getvalue()


def ready_photo(reed: Reed, **given: object) -> Photo:
    """Return a photo as the worker leaves it."""
    data = picture(400, 300)
    photo = Photo(
        studio=reed.studio, reed=reed, by=reed.owner, state=PhotoState.READY, width=400, height=300, **given
    )
    for copy in ("upright", "screen", "thumbnail"):
        getattr(photo, copy).save(f"{copy}.jpg", ContentFile(data), save=False)
    photo.save()
    return photo


def sent_round(
    student: Member, *, days: float = 1, photos: int = 1, takes: int = 0, **given: object
) -> Submission:
    """Return a round that waits since so many days, with photos and takes the worker is done with."""
    reed = given.pop("reed", None) or ReedFactory(owner=student)
    sent_at = timezone.now() - dt.timedelta(days=days)
    row = SubmissionFactory(reed=reed, sent_at=sent_at, stage=reed.stage, version=reed.version, **given)
    row.photos.set([ready_photo(reed) for _ in range(photos)])
    row.takes.set([ready_take(reed) for _ in range(takes)])
    return row


def finding(outcome: str, **given: object) -> dict[str, object]:
    """Return a finding as a sent round keeps it."""
    return {"check": "limits", "outcome": outcome, "message": f"It is {outcome}.", **given}


def drawn(kind: str = "point", words: str = "here") -> dict[str, object]:
    """Return a mark as a page sends it."""
    points = {"point": [[0.5, 0.5]]}.get(kind, [[0.2, 0.5], [0.6, 0.4]])
    return {"kind": kind, "points": points, "words": words}


def mark(kind: str = "point", words: str = "here") -> dict[str, object]:
    """Return a mark as it is kept."""
    return to_annotation(read_drawn(drawn(kind, words)), uuid.uuid4())


def span_mark(start: float = 0.6, end: float = 1.4, words: str = "it scoops up here") -> dict[str, object]:
    """Return a mark on a take as it is kept."""
    return span_annotation(Span(start, end, words), uuid.uuid4())


def measured_photo(reed: Reed, **given: object) -> Photo:
    """Return a photo from which somebody kept lengths, laid flat by the worker."""
    photo, now = ready_photo(reed), timezone.now()
    numbers = [math.log(800), 0, 0, 0, 0, 0, 0, -74, -52, 300]
    row = PhotoMeasuring(
        studio=reed.studio,
        photo=photo,
        state=LookState.FOUND,
        looked_for="reed",
        landmarks={"staple_foot": [100, 150], "tip": [290, 150]},
        camera={"numbers": numbers, "heights": [3.25, 3.25]},
        lengths={"overall_length": [71.0, 0.1], "tip_length": [2.5, 0.1]},
        measured_by=reed.owner,
        measured_at=now,
        flat_of=now,
    )
    row.flat.save("flat.jpg", ContentFile(picture(1232, 308)), save=False)
    for name, value in given.items():
        setattr(row, name, value)
    row.save()
    return photo


def tone(hz: float = 442.0, seconds: float = 2.0, rate: int = 16000) -> bytes:
    """Return a plain tone of eight harmonics between two near-silences, as a WAV file."""
    from scipy.io import wavfile  # slow to import, and few tests have a sound

    t = np.arange(int(seconds * rate)) / rate
    sound = sum(np.sin(2 * np.pi * hz * k * t) / k for k in range(1, 9)) * 0.1
    silence = np.random.default_rng(1).normal(0, 1e-4, rate // 2)
    samples = np.concatenate([silence, sound * np.clip(t / 0.03, 0, 1), silence])
    out = io.BytesIO()
    wavfile.write(out, rate, (samples * 32767).astype(np.int16))
    return out.getvalue()


@functools.cache
def heard_tone(item: str, hz: float) -> tuple[dict[str, object], dict[str, object]]:
    """Return what the worker hears in `tone(hz)`: figures and tracks."""
    decoded = decode_take(io.BytesIO(tone(hz)))
    expect = [69] if item == "tuning" else None
    heard = analyse(decoded, a4_hz=442.0, item=item, expect=expect)
    return heard_to_json(heard), contours_to_json(contours_of(tracks_of(decoded)))


def ready_take(reed: Reed, item: str = "tuning", hz: float = 442.0, **given: object) -> Take:
    """Return a take as the worker leaves it: a plain tone, heard."""
    result, tracks = heard_tone(item, hz)
    quiet = dict.fromkeys(("autoGainControl", "noiseSuppression", "echoCancellation"), False)
    kept = {
        "granted": quiet,
        "a4_hz": 442.0,
        "stage": reed.stage,
        "by": reed.owner,
        "content_type": "audio/wav",
    }
    take = Take(
        studio=reed.studio, reed=reed, item=item, state="ready", result=result, tracks=tracks, **kept | given
    )
    take.file.save("take-sound.wav", ContentFile(tone(hz)), save=False)
    take.save()
    return take


def ready_voice(answer: Answer, seconds: float = 2.0) -> Voice:
    """Return a spoken note of an answer as the worker leaves it."""
    voice = Voice(studio=answer.studio, by=answer.author, sound_state="ready", sound_type="audio/wav")
    voice.sound_seconds = seconds
    voice.sound.save("voice-sound.wav", ContentFile(tone(seconds=seconds)), save=False)
    voice.save()
    Answer.objects.filter(pk=answer.pk).update(voice=voice)
    return voice


def ready_export(member: Member) -> Export:
    """Return an export as the worker leaves it, though there is nothing in it."""
    row = Export(studio=member.studio, member=member, by_teacher=member.teaches, state="ready", size_bytes=22)
    row.file.save("export.zip", ContentFile(b"PK\x05\x06" + bytes(18)), save=False)
    row.save()
    return row


def uploaded_log(
    by: Member, text: str = "reed,made on,tie length\n901,2026-03-04,72.5\n", **given: object
) -> ReedLog:
    """Return a list of one's own reeds, looked over and not brought in."""
    return keep(Upload("reeds.csv", text.encode(), **{"studio": by.studio, "by": by, "student": by} | given))


def ready_demonstration(by: Member, **given: object) -> Demonstration:
    """Return a demonstration as the worker leaves it, with a photo and a recording."""
    words = {"title": "An even opening", "words": "Both corners close together."}
    row = Demonstration(studio=by.studio, made_by=by, **words | given)
    row.photo_state = row.sound_state = "ready"
    row.sound_type, row.sound_seconds = "audio/wav", 1.0
    for copy in ("photo_screen", "photo_thumbnail"):
        getattr(row, copy).save(f"{copy}.jpg", ContentFile(picture(400, 300)), save=False)
    row.sound.save("sound.wav", ContentFile(tone(seconds=1.0)), save=False)
    row.save()
    return row
