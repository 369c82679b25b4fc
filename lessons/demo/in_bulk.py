"""Writes the demo's finished term down, many rows at once: no photos, everything answered and read."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable
from dataclasses import dataclass, replace

from lessons.answering.models import Answer
from lessons.demo import people, truth
from lessons.demo.answers import answer_of
from lessons.demo.finished import FinishedLife, finished_lives
from lessons.demo.histories import at
from lessons.demo.unsaved import DemoStudio, events_of, findings_of, measurement_of, reed_of
from lessons.lesson.models import Lesson, SetWork
from lessons.sending.models import Submission
from lessons.sending.need import leaks
from reeds.checks.findings import Finding, need_of
from reeds.checks.sheet import Sheet
from reeds.numbers.words import Stage
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import Reed, ReedEvent
from studio.models import Member, Term


@dataclass(frozen=True)
class Written:
    """One reed with its rows, saved or about to be."""

    reed: Reed
    life: FinishedLife
    events: list[ReedEvent]
    numbers: list[Measurement]


def write_finished_term(demo: DemoStudio, students: Iterable[Member]) -> DemoStudio:
    """Write the term before the demo's present one; return the studio that knows how far the numbers went."""
    first = demo.starts.date() - dt.timedelta(days=truth.DAYS + truth.BREAK_DAYS)
    last = first + dt.timedelta(days=truth.DAYS - 1)
    Term.objects.create(studio=demo.studio, name=truth.TERM, starts_on=first, ends_on=last)
    then = replace(demo, starts=dt.datetime.combine(first, dt.time(), demo.studio.zone))
    made_of = {"studio": demo.studio, "owner": demo.teacher, "tube_diameter": 10.5, "gouge": 0.57}
    lots = CaneLot.objects.bulk_create(CaneLot(label=lot.label, **made_of) for lot in truth.LOTS)
    by_name = {student.person.username: student for student in students}
    for maker in truth.MAKERS:
        student = by_name[maker.username]
        _write_reeds(then, student, lots, finished_lives(maker))
        _write_work(then, student, maker)
    return replace(demo, before={maker.username: truth.REEDS_EACH for maker in truth.MAKERS})


def _write_reeds(demo: DemoStudio, student: Member, lots: list[CaneLot], lives: list[FinishedLife]) -> None:
    reeds = Reed.objects.bulk_create(reed_of(demo, student, life, lots[life.cane]) for life in lives)
    rows = [_rows(demo, reed, life) for reed, life in zip(reeds, lives, strict=True)]
    ReedEvent.objects.bulk_create(event for one in rows for event in one.events)
    Measurement.objects.bulk_create(number for one in rows for number in one.numbers)
    _write_rounds(demo, rows)
    _write_tests(demo, rows)


def _rows(demo: DemoStudio, reed: Reed, life: FinishedLife) -> Written:
    numbers = [measurement_of(demo, reed, number) for number in life.numbers]
    return Written(reed, life, events_of(demo, reed, life), numbers)


def _write_rounds(demo: DemoStudio, rows: list[Written]) -> None:
    """Each blank was sent as it was tied, and answered within three days."""
    sheet = demo.version.sheet
    told = [(one, _found(one, sheet, at(demo.starts, one.life.rounds[0][0]))) for one in rows]
    rounds = Submission.objects.bulk_create(_round(demo, one, found) for one, found in told)
    links = Submission.measurements.through
    links.objects.bulk_create(
        links(submission=round_, measurement=number)
        for round_, one in zip(rounds, rows, strict=True)
        for number in one.numbers
        if number.at <= round_.started_at
    )
    Answer.objects.bulk_create(
        answer_of(round_, demo.teacher, found, round_.answered_at or round_.started_at)
        for round_, (_one, found) in zip(rounds, told, strict=True)
    )


def _found(one: Written, sheet: Sheet, moment: dt.datetime) -> list[Finding]:
    numbers = [number for number in one.numbers if number.at <= moment]
    return findings_of(one.reed, Stage.TIED, numbers, [e for e in one.events if e.at <= moment], sheet, {})


def _round(demo: DemoStudio, one: Written, findings: list[Finding]) -> Submission:
    moment = at(demo.starts, one.life.rounds[0][0])
    answered_at = moment + dt.timedelta(days=1 + one.life.number % 2, hours=one.life.number % 5)
    return Submission(
        studio=demo.studio,
        reed=one.reed,
        student=one.reed.owner,
        started_at=moment,
        sent_at=moment,
        stage=Stage.TIED,
        version=demo.version,
        findings=[finding.as_json() for finding in findings],
        need=need_of(findings),
        leaks=leaks(findings),
        answered_at=answered_at,
        read_at=answered_at + dt.timedelta(hours=20),
    )


def _write_tests(demo: DemoStudio, rows: list[Written]) -> None:
    """The student tries a reed while it is being finished; some the teacher plays the day after it plays."""
    tried = [(one, one.reed.owner, one.life.speaks, Stage.FINISHING) for one in rows if one.life.speaks]
    tried += [(one, demo.teacher, one.life.teachers, Stage.PLAYING) for one in rows if one.life.teachers]
    tests = PlayingTest.objects.bulk_create(
        PlayingTest(studio=demo.studio, reed=one.reed, by=by, at=_half_a_day_into(demo, one, stage), effort=3)
        for one, by, _speaks, stage in tried
    )
    Rating.objects.bulk_create(
        Rating(studio=demo.studio, test=test, item=item, speaks=speaks)
        for test, (_one, _by, said, _stage) in zip(tests, tried, strict=True)
        for item, speaks in said.items()
    )


def _half_a_day_into(demo: DemoStudio, one: Written, stage: Stage) -> dt.datetime:
    return at(demo.starts, 0.5 + next(day for day, came_to, _why in one.life.steps if came_to is stage))


def _write_work(demo: DemoStudio, student: Member, maker: truth.Maker) -> None:
    """A lesson every second week; in the first of them work is set, and the last of it stays undone."""
    lessons = Lesson.objects.bulk_create(
        Lesson(
            studio=demo.studio,
            at=at(demo.starts, day),
            time_zone=people.TIME_ZONE,
            held_by=demo.teacher,
            agreed=people.AGREED,
        )
        for day in range(3, truth.DAYS, 14)
    )
    present = Lesson.present.through
    present.objects.bulk_create(present(lesson=lesson, member=student) for lesson in lessons)
    given = itertools.islice(enumerate(lessons), truth.WORK_SET)
    SetWork.objects.bulk_create(
        _work(demo, student, lesson, done=place < maker.work_done) for place, lesson in given
    )


def _work(demo: DemoStudio, student: Member, lesson: Lesson, *, done: bool) -> SetWork:
    return SetWork(
        studio=demo.studio,
        student=student,
        lesson=lesson,
        words=people.WORK,
        count=3,
        pattern=demo.version.pattern,
        due_on=(lesson.at + dt.timedelta(days=14)).date(),
        set_at=lesson.at,
        done_at=lesson.at + dt.timedelta(days=11) if done else None,
    )
