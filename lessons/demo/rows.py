"""Writes one planned reed of the demo down: its events, numbers, photos, rounds and answers."""

from __future__ import annotations

import datetime as dt
import io

from django.core.files.base import ContentFile
from PIL import Image

from lessons.demo.answers import answer_round
from lessons.demo.histories import DAYS_SO_FAR, Life, at
from lessons.demo.on_photos import measure_photo
from lessons.demo.pictures import FOCAL_35MM, SIZE, Look, landmarks, lying, tip_on
from lessons.demo.unsaved import DemoStudio, events_of, findings_of, measurement_of, reed_of
from lessons.sending.models import Submission
from lessons.sending.need import leaks
from reeds.checks.findings import Finding, need_of
from reeds.numbers.words import Flexibility, Stage
from reeds.photo.models.photo import Photo, PhotoState, View
from reeds.photo.vision.jobs import THUMBNAIL
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.pattern import Offset
from studio.models import Member

MODEL_SEED = 77


def write_reed(demo: DemoStudio, student: Member, lot: CaneLot, life: Life, seed: int) -> Reed:
    """Write a reed with everything that happened to it."""
    reed = reed_of(demo, student, life, lot)
    reed.save()
    ReedEvent.objects.bulk_create(events_of(demo, reed, life))
    for number in life.numbers:
        measurement_of(demo, reed, number).save()
    for turn, (day, stage) in enumerate(life.rounds, start=1):
        _write_round(demo, reed, life, turn, (day, stage), seed + 10 * life.number + turn)
    return reed


def write_model(demo: DemoStudio) -> Reed:
    """Write the teacher's model reed, with one measured photo to lay students' reeds beside."""
    life = Life(1, 0, Flexibility.MEDIUM, 45.0, 1.0, tie=72.0, thread_end=45.0, scrape=12.0)
    life.steps = [(1.0, Stage.TIED, ""), (2.0, Stage.BOUND, ""), (9.0, Stage.SCRAPED, "")]
    life.steps.append((12.0, Stage.PLAYING, ""))
    life.clips = [(9.1, 1.0)]
    moment = at(demo.starts, 12.1)
    reed = reed_of(demo, demo.teacher, life)
    reed.shape, reed.is_model = "narrow", True
    reed.save()
    ReedEvent.objects.bulk_create(events_of(demo, reed, life))
    look = Look(life.staple, life.thread_end, life.tie - 1.0, life.scrape - 1.0, 2.5, thread=1)
    photo = lying_photo(demo, reed, look, moment, MODEL_SEED)
    measure_photo(photo, demo.card, landmarks(look, MODEL_SEED), Stage.PLAYING, moment)
    return reed


def _write_round(
    demo: DemoStudio, reed: Reed, life: Life, turn: int, when: tuple[float, Stage], seed: int
) -> None:
    day, stage = when
    moment = at(demo.starts, day)
    photos = _photos(demo, reed, life, stage, moment, seed) if reed.owner.may_send_pictures else []
    rows = list(reed.measurements.filter(at__lte=moment))
    test = _playing_test(demo, reed, life, moment) if stage is Stage.PLAYING else None
    findings = _findings(reed, stage, rows, moment, life.speaks if test else {})
    submission = Submission.objects.create(
        studio=demo.studio,
        reed=reed,
        student=reed.owner,
        round=turn,
        started_at=moment,
        sent_at=moment,
        stage=stage,
        version=demo.version,
        question=QUESTIONS.get((turn + life.number) % 4, ""),
        playing_test=test,
        findings=[finding.as_json() for finding in findings],
        need=need_of(findings),
        leaks=leaks(findings),
    )
    submission.measurements.set([row for row in rows if row.stage == stage])
    submission.photos.set(photos)
    if day < DAYS_SO_FAR - 4 and (seed % 17 or day < 45):  # some wait, one or two are late
        answer_round(
            submission, demo.teacher, findings, moment + dt.timedelta(days=1 + seed % 4, hours=seed % 9)
        )


QUESTIONS = {
    0: "Is this one worth scraping?",
    1: "It closes on one side first. Which blade do I begin with?",
    2: "I am not sure I read the ruler right.",
}


def _playing_test(demo: DemoStudio, reed: Reed, life: Life, moment: dt.datetime) -> PlayingTest:
    test = PlayingTest.objects.create(
        studio=demo.studio, reed=reed, by=reed.owner, at=moment, effort=life.effort
    )
    for item, speaks in life.speaks.items():
        Rating.objects.create(studio=demo.studio, test=test, item=item, speaks=speaks)
    return test


def _findings(
    reed: Reed, stage: Stage, rows: list[Measurement], moment: dt.datetime, answers: dict[str, int]
) -> list[Finding]:
    """What the checks said on that day."""
    events = list(reed.events.standing().filter(at__lte=moment))
    sheet = reed.version.sheet.with_offsets(Offset.objects.of(reed.owner))
    return findings_of(reed, stage, rows, events, sheet, answers)


def _photos(
    demo: DemoStudio, reed: Reed, life: Life, stage: Stage, moment: dt.datetime, seed: int
) -> list[Photo]:
    scraped = stage.order >= Stage.SCRAPED.order
    clipped = sum(amount for _day, amount in life.clips) if scraped else 0.0
    look = Look(
        staple=life.staple,
        thread_end=life.thread_end,
        length=life.tie - clipped,
        scrape=max(life.scrape - clipped, 5.0) if scraped else 0.0,
        tip=2.5 if scraped else 0.0,
        thread=reed.owner_id,
    )
    photos = [lying_photo(demo, reed, look, moment, seed)]
    if scraped and life.measures:
        measure_photo(photos[0], demo.card, landmarks(look, seed), stage, moment - dt.timedelta(minutes=10))
    if scraped:
        photos.append(_photo(demo, reed, View.OPENING, moment, tip_on(life.opening, life.unevenness, seed)))
    return photos


def lying_photo(demo: DemoStudio, reed: Reed, look: Look, moment: dt.datetime, seed: int) -> Photo:
    """Write a photo of a reed that lies on the card."""
    return _photo(demo, reed, View.FRONT, moment, lying(look, seed))


def _photo(demo: DemoStudio, reed: Reed, view: View, moment: dt.datetime, data: bytes) -> Photo:
    photo = Photo(studio=demo.studio, reed=reed, by=reed.owner, view=view, state=PhotoState.READY)
    photo.sent_at = photo.taken_at = moment
    photo.width, photo.height = photo.original_width, photo.original_height = SIZE
    photo.size_bytes, photo.format, photo.orientation, photo.focal_35mm = len(data), "JPEG", 1, FOCAL_35MM
    photo.upright.save("upright.jpg", ContentFile(data), save=False)
    photo.screen.save("screen.jpg", ContentFile(data), save=False)
    photo.thumbnail.save("thumbnail.jpg", ContentFile(_thumbnail(data)), save=False)
    photo.save()
    return photo


def _thumbnail(data: bytes) -> bytes:
    picture = Image.open(io.BytesIO(data))
    picture.draft("RGB", (THUMBNAIL * 2, THUMBNAIL * 2))
    picture.thumbnail((THUMBNAIL, THUMBNAIL))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=80)
    return out.getvalue()
