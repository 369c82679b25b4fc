"""Never another student's rows, words or pictures: everybody writes their mark into everything there is."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from lessons.answering.models import Answer, Mark, Phrase, Reply
from lessons.comparison.models import Allotment, AskedQuestion, PlannedComparison
from lessons.lesson.models import Lesson, LessonNote, SetWork
from lessons.letter.models import Letter, LetterPicture
from lessons.log.models import ReedLog
from reeds.photo.actions.card import new_card
from reeds.photo.models.tool import ToolReading
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.knife import Knife
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.models.pattern import Offset
from tests import factories as make
from tests.lessons.export.reading import bundle

SPRING = (dt.date(2026, 3, 1), dt.date(2026, 5, 31))
IN_SPRING = dt.datetime(2026, 4, 1, 12, tzinfo=dt.UTC)
IN_AUTUMN = dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC)


def everything_of(student, teacher, sign, at=IN_SPRING):
    """One of everything of a student, with a sign in each text and each file; return the sign as bytes."""
    here = {"studio": student.studio}
    reed = a_reed(student, sign, at)
    photo, take = a_photo(reed, sign, at), a_take(reed, sign, at)
    test = PlayingTest.objects.create(**here, reed=reed, by=student, at=at)
    Rating.objects.create(**here, test=test, item="crow", speaks=3)
    a_round(student, teacher, sign, at, reed, photo, take)
    lesson = Lesson.objects.create(
        **here, at=at, time_zone="Europe/Berlin", held_by=teacher, agreed=f"agreed {sign}"
    )
    lesson.present.add(student)
    LessonNote.objects.create(**here, lesson=lesson, by=student, words=f"lesson {sign}")
    work = SetWork.objects.create(**here, student=student, words=f"work {sign}", lesson=lesson, set_at=at)
    work.reeds.add(reed)
    Offset.objects.create(**here, student=student, quantity="tie_length", delta=1, why=f"offset {sign}")
    Knife.objects.create(**here, owner=student, sharpened_on=at)
    new_card(student)
    ReedLog.objects.create(**here, by=student, student=student, name=f"list {sign}", uploaded_at=at)
    given = {"seen_mm": 1, "seen_u": 1, "held_mm": 1, "held_u": 1}
    a_letter(student, teacher, sign, photo)
    a_comparison(student, teacher, sign, reed, at)
    ToolReading.objects.create(**here, photo=photo, quantity=f"q{sign}", at=at, **given)
    return sign.encode()


def a_comparison(student, teacher, sign, reed, at):
    """A plan for this student, one of whose places is taken and one not yet."""
    here = {"studio": student.studio}
    ways = {"differs": "other", "one": f"one way {sign}", "other": f"other way {sign}"}
    told = {"made_by": teacher, "made_at": at, "blanks_each": 2, "seed": 424242424242}
    plan = PlannedComparison.objects.create(**here, **ways, **told, until=SPRING[1])
    plan.students.add(student)
    drawn = {"plan": plan, "student": student}
    why = f"not kept {sign}"
    Allotment.objects.create(**here, **drawn, place=1, arm=0, reed=reed, taken_at=at, not_kept_why=why)
    Allotment.objects.create(**here, **drawn, place=2, arm=1)
    AskedQuestion.objects.create(
        **here,
        term=make.TermFactory(studio=student.studio, starts_on=SPRING[0], ends_on=SPRING[1]),
        outcome="played",
        factor=f"factor {sign}",
        by=teacher,
        at=at,
    )


def a_letter(student, teacher, sign, photo):
    """One that was given, with a photo, and a draft of the next."""
    here = {"studio": student.studio, "student": student, "starts_on": SPRING[0], "ends_on": SPRING[1]}
    lines = {
        "sentences": [f"sentence {sign}"],
        "comes_back": [f"comes {sign}"],
        "agreed": [f"decided {sign}"],
    }
    words = {"words": f"letter {sign}", "next_aim": f"aim {sign}", "term_name": f"term {sign}"}
    given = Letter.objects.create(**here, **lines, **words, given_at=IN_SPRING, given_by=teacher)
    told = {"studio": student.studio, "place": 1}
    LetterPicture.objects.create(**told, letter=given, photo=photo, caption=f"caption {sign}")
    draft = Letter.objects.create(**here, version=2, words=f"draft {sign}", term_name="Spring")
    LetterPicture.objects.create(**told, letter=draft, photo=photo, caption=f"unsent {sign}")


def a_reed(student, sign, at):
    here = {"studio": student.studio}
    cane = CaneLot.objects.create(**here, owner=student, label=f"cane {sign}", note=f"note {sign}")
    reed = make.ReedFactory(owner=student, cane=cane, shape=f"shape {sign}", staple=f"st {sign}", made_at=at)
    ReedEvent.objects.create(**here, reed=reed, kind="note", why=f"why {sign}", at=at)
    read = {"reed": reed, "stage": "tied", "method": "ruler", "at": at, "by": student}
    Measurement.objects.create(**here, **read, quantity="tie_length", value=72, u=1, computed_from=sign)
    Measurement.objects.create(**here, **read, quantity="airtight", word=f"w{sign}")
    return reed


def a_photo(reed, sign, at):
    photo = make.measured_photo(reed, landmarks={sign: [1, 2]})
    photo.upright.save("upright.jpg", ContentFile(f"picture {sign}".encode()), save=False)
    photo.sent_at = at
    photo.save()
    return photo


def a_take(reed, sign, at):
    take = make.ready_take(reed, at=at, notes=[f"note {sign}"])
    take.file.save("take.wav", ContentFile(f"sound {sign}".encode()))
    return take


def a_round(student, teacher, sign, at, reed, photo, take):
    here = {"studio": student.studio}
    found = [make.finding("above", message=f"A finding {sign}", next_step=f"step {sign}")]
    times = {"sent_at": at, "answered_at": at}
    row = make.SubmissionFactory(
        reed=reed, question=f"question {sign}", stage="tied", findings=found, **times
    )
    row.photos.add(photo)
    row.takes.add(take)
    words = {"words": f"answer {sign}", "next_step": f"next {sign}", "caution": f"caution {sign}"}
    answer = Answer.objects.create(**here, submission=row, author=teacher, sent_at=at, **words)
    marked = make.mark(words=f"mark {sign}"), make.span_mark(words=f"span {sign}")
    Mark.objects.create(**here, answer=answer, photo=photo, annotation=marked[0], made_at=at)
    Mark.objects.create(**here, answer=answer, take=take, annotation=marked[1], made_at=at)
    make.ready_voice(answer).sound.save("voice.wav", ContentFile(f"voice {sign}".encode()))
    Reply.objects.create(**here, submission=row, by=student, words=f"reply {sign}", at=at)


SIGNS = {"student": "QFIRSTQ", "other": "QSECONDQ", "far": "QFARQ"}


@pytest.fixture
def cast(teacher, student, other_student, stranger):
    """Two students of one studio and one of another, each with a sign in all that is theirs."""
    cast = {"student": student, "other": other_student, "far": make.student(studio=stranger.studio)}
    cast |= {"teacher": teacher, "stranger": stranger}
    for who, sign in SIGNS.items():
        cast[who].person.name = f"Name {sign}"
        cast[who].person.save()
        everything_of(cast[who], stranger if who == "far" else teacher, sign)
    Phrase.objects.create(studio=stranger.studio, teacher=stranger, words="phrase QFARQ")
    return cast


def signs_in(out):
    data = out.everything()
    return {who for who, sign in SIGNS.items() if sign.encode() in data}


@pytest.mark.parametrize(
    ("who", "seen"),
    [
        ("student", {"student"}),
        ("other", {"other"}),
        ("far", {"far"}),
        ("teacher", {"student", "other"}),
        ("stranger", {"far"}),
    ],
)
def test_everybody_takes_away_what_they_may_see_and_no_more(cast, who, seen):
    assert signs_in(bundle(cast[who])) == seen


def test_a_teacher_takes_away_one_student_alone(cast):
    assert signs_in(bundle(cast["teacher"], cast["student"])) == {"student"}


def test_a_student_who_asks_for_another_gets_their_own(cast):
    assert signs_in(bundle(cast["student"], cast["other"])) == {"student"}


EVERYWHERE = (
    *("cane", "note", "shape", "st", "why", "picture", "sound", "agreed", "lesson", "work", "offset"),
    *("question", "answer", "next", "caution", "mark", "span", "voice", "reply", "finding", "step", "Name"),
    *("sentence", "comes", "decided", "letter", "aim", "term", "caption", "list", "way", "kept"),
)


def test_all_that_is_ones_own_is_there(cast):
    data = bundle(cast["student"]).everything().decode(errors="replace")
    assert [word for word in EVERYWHERE if f"{word} QFIRSTQ" not in data] == []


def test_what_will_be_drawn_next_is_in_nobodys_export(cast):
    for out in (bundle(cast["student"]), bundle(cast["teacher"], cast["student"])):
        assert [(row["place"], row["way"]) for row in out.table("comparison_places")] == [("1", "0")]
        assert b"424242424242" not in out.everything()
    assert b"424242424242" not in bundle(cast["teacher"]).everything()


def test_questions_of_the_studio_are_in_no_students_export(cast):
    assert b"factor Q" not in bundle(cast["student"]).everything()
    assert b"factor Q" not in bundle(cast["teacher"], cast["student"]).everything()
    assert len(bundle(cast["teacher"]).table("questions")) == 2


def test_a_letters_draft_is_the_teachers_alone(cast):
    for asked, there in ((bundle(cast["student"]), False), (bundle(cast["teacher"], cast["student"]), True)):
        data = asked.everything()
        assert (b"draft QFIRSTQ" in data) is (b"unsent QFIRSTQ" in data) is there


def test_in_a_lesson_of_two_each_takes_away_their_own_notes_and_the_teachers(cast):
    student, other, teacher = cast["student"], cast["other"], cast["teacher"]
    lesson = Lesson.objects.create(
        studio=teacher.studio, at=IN_SPRING, time_zone="Europe/Berlin", held_by=teacher, agreed="for both"
    )
    lesson.present.set([student, other])
    for by in (student, other, teacher):
        LessonNote.objects.create(studio=teacher.studio, lesson=lesson, by=by, words=f"shared by {by}")
    for out in (bundle(student), bundle(teacher, student)):
        words = [row["words"] for row in out.table("lesson_notes") if row["words"].startswith("shared")]
        assert words == [f"shared by {student}", f"shared by {teacher}"]
        assert signs_in(out) == {"student"}
        assert "for both" in {row["agreed"] for row in out.table("lessons")}
        assert {row["student"] for row in out.table("lesson_people")} == {str(student)}


def test_what_was_taken_back_or_out_is_nobodys(cast):
    student = cast["student"]
    reed = student.reeds.get()
    reed.photos.update(taken_back_at=timezone.now())
    reed.takes.update(taken_back_at=timezone.now())
    out = bundle(student)
    assert out.table("photos") == out.table("takes") == []
    assert b"picture Q" not in out.everything()
    assert b"sound Q" not in out.everything()
    assert out.json("marks.json")["items"] == []
    type(reed).objects.filter(pk=reed.pk).update(taken_out_at=timezone.now())
    gone = bundle(cast["teacher"], student)
    for table in (
        "reeds",
        "numbers",
        "noted",
        "events",
        "rounds",
        "findings",
        "answers",
        "replies",
        "ratings",
    ):
        assert gone.table(table) == [], table


def test_a_students_export_has_no_answer_that_was_not_sent(cast):
    student, teacher = cast["student"], cast["teacher"]
    answer = Answer.objects.get(submission__student=student)
    Answer.objects.filter(pk=answer.pk).update(sent_at=None)
    data = bundle(student).everything()
    assert b"answer QFIRSTQ" not in data
    assert b"mark QFIRSTQ" not in data
    assert b"voice QFIRSTQ" not in data
    assert b"answer QFIRSTQ" in bundle(teacher).everything()
    colleague = make.teacher(studio=teacher.studio)
    assert b"answer QFIRSTQ" not in bundle(colleague).everything()
    assert b"mark QFIRSTQ" not in bundle(colleague).everything()


# --- of one term ----------------------------------------------------------------------------------


@pytest.fixture
def spring(teacher):
    return make.TermFactory(studio=teacher.studio, starts_on=SPRING[0], ends_on=SPRING[1])


def test_a_term_holds_what_happened_in_it(cast, spring):
    late = make.student(studio=spring.studio)
    everything_of(late, cast["teacher"], "QLATEQ", IN_AUTUMN)
    out = bundle(cast["teacher"], term=spring)
    assert signs_in(out) == {"student", "other"}
    rows = out.everything().decode(errors="replace")
    late_words = [word for word in EVERYWHERE if f"{word} QLATEQ" in rows]
    assert late_words == ["cane", "note", "offset"]  # what holds at all times, and no time of it is noted


def test_a_reed_of_before_is_there_with_what_happened_to_it_in_the_term(student, spring):
    old = make.ReedFactory(owner=student, made_at=IN_SPRING - dt.timedelta(days=200))
    silent = make.ReedFactory(owner=student, made_at=IN_SPRING - dt.timedelta(days=200))
    for at in (IN_SPRING, IN_AUTUMN):
        ReedEvent.objects.create(studio=student.studio, reed=old, kind="note", why=f"{at:%B}", at=at)
    ReedEvent.objects.create(studio=student.studio, reed=silent, kind="note", why="later", at=IN_AUTUMN)
    out = bundle(student, term=spring)
    assert [row["reed"] for row in out.table("reeds")] == [str(old.number)]
    assert [row["why"] for row in out.table("events")] == ["April"]


def test_no_row_leads_to_one_that_is_not_there(cast, spring, tmp_path):
    """Links to rows of another term, or of what was taken back, are left empty: foreign keys hold."""
    from frictionless import validate

    student, teacher = cast["student"], cast["teacher"]
    round_ = student.submissions.get()
    Reply.objects.create(
        studio=student.studio, submission=round_, by=student, words="much later", at=IN_AUTUMN
    )
    autumn = make.TermFactory(studio=spring.studio, starts_on="2026-09-01", ends_on="2026-12-31")
    autumn.refresh_from_db()
    student.reeds.get().photos.update(taken_back_at=timezone.now())
    for place, term in enumerate((None, spring, autumn)):
        out = bundle(teacher, student, term)
        out.zip.extractall(tmp_path / str(place))
        report = validate(str(tmp_path / str(place) / "datapackage.json"))
        assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "note"])
        assert len(out.table("reeds")) == 1
    assert [row["words"] for row in out.table("replies")] == ["much later"]
    assert out.table("replies")[0]["round_id"] == ""
