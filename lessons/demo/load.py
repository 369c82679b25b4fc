"""Writes the invented studio down, and takes it away whole."""

from __future__ import annotations

import datetime as dt
import uuid
from itertools import chain

from django.contrib.auth.hashers import make_password
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from lessons.answering.models import Phrase
from lessons.demo import people
from lessons.demo.answers import NAMESPACE
from lessons.demo.compared import write_comparisons
from lessons.demo.histories import DAYS_SO_FAR, lives
from lessons.demo.hour import write_hour
from lessons.demo.in_bulk import write_finished_term
from lessons.demo.on_photos import look_at_the_others
from lessons.demo.rows import write_model, write_reed
from lessons.demo.takes import write_takes
from lessons.demo.unsaved import DemoStudio
from lessons.lesson.models import Lesson, LessonNote, SetWork
from lessons.sending.models import Submission
from reeds.numbers.words import Method, Style
from reeds.photo.actions.card import new_card, note_bar
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.pattern import Offset, Pattern, PatternVersion
from reeds.sheet.starters import STARTERS
from reeds.sweep import HELD
from studio.models import Member, Person, Role, Studio, Term


@transaction.atomic
def load() -> Studio:
    """Write the demo studio; its term began ten weeks before today."""
    studio = Studio.objects.create(name=people.STUDIO, time_zone=people.TIME_ZONE, is_demo=True)
    today = timezone.now().astimezone(studio.zone).date()
    first = today - dt.timedelta(days=DAYS_SO_FAR)
    last = first + dt.timedelta(days=90)
    Term.objects.create(studio=studio, name=people.TERM, starts_on=first, ends_on=last)
    secret = make_password(people.PASSWORD)
    teacher = _member(studio, *people.TEACHER, Role.TEACHER, secret)
    versions = {style: _pattern(studio, style, teacher) for style in (Style.SHORT, Style.LONG)}
    Phrase.objects.bulk_create(
        Phrase(studio=studio, teacher=teacher, words=words) for words in people.PHRASES
    )
    starts = dt.datetime.combine(first, dt.time(), studio.zone)
    card = new_card(teacher)
    note_bar(card, teacher, 100.0, Method.CALIPER)
    demo = DemoStudio(studio, teacher, versions[Style.SHORT], starts, card)
    write_model(demo)
    students = [_joined(demo, hand, secret) for hand in people.HANDS]
    demo = write_finished_term(demo, students)
    for seed, (hand, student) in enumerate(zip(people.HANDS, students, strict=True), start=1):
        _this_term(demo, hand, student, seed)
    write_comparisons(demo, students)
    write_takes(studio)
    write_hour(teacher)
    look_at_the_others(studio)
    _beside(studio, secret)
    return studio


def remove() -> int:
    """Take every demo studio away whole, with its people and files; return how many there were."""
    studios = list(Studio.objects.filter(is_demo=True))
    for studio in studios:
        _delete_files(studio)
        with transaction.atomic():
            persons = list(Person.objects.filter(memberships__studio=studio).values_list("pk", flat=True))
            Submission.objects.filter(studio=studio).delete()
            ReedEvent.objects.filter(studio=studio).delete()
            Reed.objects.filter(studio=studio).delete()
            studio.delete()
            Person.objects.filter(pk__in=persons, memberships__isnull=True).delete()
    return len(studios)


def _delete_files(studio: Studio) -> None:
    """Delete every file that a row of the studio names; which rows name files is said once, for the sweep."""
    for model, fields in chain.from_iterable(HELD.values()):
        named = model._default_manager.filter(studio=studio).values_list(*fields)
        for name in filter(None, chain.from_iterable(named)):
            default_storage.delete(name)


def _beside(studio: Studio, secret: str) -> None:
    """An assistant, and the guardian of whoever is under age; last, so that no student's number moves."""
    _member(studio, *people.ASSISTANT, Role.ASSISTANT, secret)
    guardian = _member(studio, *people.GUARDIAN, Role.GUARDIAN, secret)
    guardian.children.set(Member.objects.under_age_students().filter(studio=studio))


def _member(studio: Studio, username: str, name: str, role: Role, secret: str, **given: object) -> Member:
    person = Person.objects.create(username=username, name=name, password=secret)
    return Member.objects.create(studio=studio, person=person, role=role, **given)


def _pattern(studio: Studio, style: Style, teacher: Member) -> PatternVersion:
    pattern = Pattern.objects.create(studio=studio, name=style.label.capitalize(), style=style)
    data = STARTERS[style].to_json()
    return PatternVersion.objects.create(studio=studio, pattern=pattern, number=1, data=data, made_by=teacher)


def _joined(demo: DemoStudio, hand: people.Hand, secret: str) -> Member:
    student = _member(
        demo.studio,
        hand.username,
        hand.name,
        Role.STUDENT,
        secret,
        under_age=hand.under_age,
        may_act=hand.may_act,
        guardian_consent_on=demo.starts.date() if hand.consent else None,
    )
    if hand.offset:
        _offset(demo, student, hand.offset)
    return student


def _this_term(demo: DemoStudio, hand: people.Hand, student: Member, seed: int) -> None:
    lots = [
        CaneLot.objects.create(studio=demo.studio, owner=student, label=label, tube_diameter=10.5, gouge=0.57)
        for label in people.CANE_LABELS
    ]
    made = [write_reed(demo, student, lots[life.cane], life, 1000 * seed) for life in lives(hand, seed)]
    _lessons(demo, student, made)


def _offset(demo: DemoStudio, student: Member, delta: float) -> None:
    for quantity in ("cane_beyond_staple", "tie_length", "overall_length"):
        Offset.objects.create(
            studio=demo.studio,
            student=student,
            quantity=quantity,
            delta=delta,
            why="This instrument wants it longer.",
            set_by=demo.teacher,
        )


def _lessons(demo: DemoStudio, student: Member, made: list[Reed]) -> None:
    """A lesson every second week, at least one to come, and work set in the one of the sixth week."""
    for week in range(0, 14, 2):
        moment = demo.starts + dt.timedelta(days=7 * week + student.pk % 5, hours=16)
        lesson = Lesson.objects.create(
            studio=demo.studio, at=moment, time_zone=people.TIME_ZONE, held_by=demo.teacher
        )
        lesson.present.add(student)
        if moment < timezone.now():
            _hold(lesson)
        if week == 6:
            _work(demo, student, lesson, made)


def _hold(lesson: Lesson) -> None:
    """What was noted and agreed in a lesson that was."""
    key = uuid.uuid5(NAMESPACE, f"note {lesson.at.isoformat()}")
    LessonNote.objects.create(
        studio=lesson.studio, lesson=lesson, by=lesson.held_by, words=people.NOTE, key=key, at=lesson.at
    )
    Lesson.objects.filter(pk=lesson.pk).update(agreed=people.AGREED)


def _work(demo: DemoStudio, student: Member, lesson: Lesson, made: list[Reed]) -> None:
    work = SetWork.objects.create(
        studio=demo.studio,
        student=student,
        lesson=lesson,
        words=people.WORK,
        count=3,
        pattern=demo.version.pattern,
        due_on=(lesson.at + dt.timedelta(days=14)).date(),
        set_at=lesson.at,
    )
    came = [reed for reed in made if reed.made_at > lesson.at][: 3 if student.pk % 2 else 2]
    work.reeds.set(came)
    if len(came) >= work.count:
        SetWork.objects.filter(pk=work.pk).update(done_at=came[-1].made_at)
