"""Lessons, what was noted in them, the work that was set, and the people and days of the studio."""

from __future__ import annotations

from django.db.models import Q

from lessons.answering.models import Phrase
from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import ID, Source, link, moment, person, plain, word
from lessons.export.packing.shapes import Kind
from lessons.lesson.models import Lesson, LessonNote, SetWork
from reeds.numbers.words import gettext_noop as _
from studio.models import Member, Role, Term

LESSONS = Source(
    name="lessons",
    said=_("One row for each lesson."),
    model=Lesson,
    when="at",
    whose="present",
    fields=(
        ID,
        moment("at", _("when it begins")),
        plain("time_zone", _("the time zone in which it was agreed")),
        person("held_by", _("who holds it")),
        plain("agreed", _("what was agreed until the next lesson")),
    ),
)


def _present(scope: Scope) -> Rows:
    """Who was there; of one student's export nobody but them."""
    seen = Lesson.objects.visible_to(scope.member)
    return Lesson.present.through._default_manager.filter(lesson__in=seen.values("pk"))


LESSON_PEOPLE = Source(
    name="lesson_people",
    said=_("Who was at which lesson."),
    model=Lesson.present.through,
    taken=_present,
    when="lesson__at",
    whose="member",
    fields=(
        link("lesson_id", "lessons", _("the lesson"), path="lesson"),
        person("student", _("who was there"), path="member"),
    ),
)


def _notes(scope: Scope) -> Rows:
    """Notes of lessons; in one student's export none that another student wrote in a lesson of several."""
    rows = LessonNote.objects.visible_to(scope.member)
    return rows.filter(Q(by__in=scope.names) | Q(by=None)) if scope.student else rows


LESSON_NOTES = Source(
    name="lesson_notes",
    said=_("One row for each note of a lesson."),
    model=LessonNote,
    taken=_notes,
    when="lesson__at",
    whose="lesson__present",
    fields=(
        ID,
        link("lesson_id", "lessons", _("the lesson"), path="lesson"),
        person("by", _("who noted it")),
        moment("at", _("when")),
        plain("words", _("the note")),
    ),
)

WORK = Source(
    name="work",
    said=_("One row for each piece of work that was set to a student."),
    model=SetWork,
    when="set_at",
    whose="student",
    fields=(
        ID,
        link("lesson_id", "lessons", _("the lesson in which it was set"), path="lesson"),
        person("student", _("to whom")),
        plain("words", _("what to do")),
        plain("sheet", _("by which measuring sheet"), path="pattern__name"),
        plain("count", _("how many reeds"), Kind.WHOLE),
        plain("due_on", _("day by which it is due"), Kind.DAY),
        moment("set_at", _("when it was set")),
        moment("done_at", _("when it was done")),
    ),
)


def _reeds_of_work(scope: Scope) -> Rows:
    seen = SetWork.objects.visible_to(scope.member)
    return SetWork.reeds.through._default_manager.filter(setwork__in=seen.values("pk"))


WORK_REEDS = Source(
    name="work_reeds",
    said=_("Which reeds came of which work."),
    model=SetWork.reeds.through,
    taken=_reeds_of_work,
    when="setwork__set_at",
    reed="reed",
    fields=(
        link("work_id", "work", _("the work"), path="setwork"),
        link("reed_id", "reeds", _("a reed that came of it"), path="reed"),
    ),
)


def _phrases(scope: Scope) -> Rows:
    """A teacher's own; they say nothing of one student."""
    rows = Phrase.objects.visible_to(scope.member).filter(teacher=scope.member.pk)
    return rows.none() if scope.student else rows


PHRASES = Source(
    name="phrases",
    said=_("One row for each of one's own usual words."),
    model=Phrase,
    taken=_phrases,
    fields=(
        ID,
        plain("words", _("the words")),
        plain("used", _("how often they were used"), Kind.WHOLE),
    ),
)

PEOPLE = Source(
    name="people",
    said=_("One row for each person of the studio: of one student's export that student alone."),
    model=Member,
    whose="pk",
    fields=(
        ID,
        plain("name", _("the name"), path="person__name"),
        word("role", _("what they are here"), Role.choices),
        plain("under_age", _("whether they are under age"), Kind.YES_NO),
        plain("guardian", _("the guardian"), path="guardian_name"),
        plain("consent_on", _("day of the guardian's consent"), Kind.DAY, path="guardian_consent_on"),
        person("consent_noted_by", _("who noted it"), path="guardian_consent_noted_by"),
        moment("consent_until", _("when it was taken back"), path="guardian_consent_withdrawn_at"),
        moment("erased_at", _("when photos and recordings were erased for it"), path="pictures_erased_at"),
        plain("may_act", _("whether they may scrape and clip without asking first"), Kind.YES_NO),
        moment("joined_at", _("when they joined")),
        moment("left_at", _("when they left")),
    ),
)

TERMS = Source(
    name="terms",
    said=_("One row for each term of the studio."),
    model=Term,
    fields=(
        ID,
        plain("name", _("its name")),
        plain("starts_on", _("its first day"), Kind.DAY),
        plain("ends_on", _("its last day"), Kind.DAY),
    ),
)

TABLES = (LESSONS, LESSON_PEOPLE, LESSON_NOTES, WORK, WORK_REEDS, PHRASES, PEOPLE, TERMS)
