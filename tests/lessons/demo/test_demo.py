"""The demo: an invented studio that is the same at every load and goes away whole."""

from __future__ import annotations

import fcntl
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection
from django.db.models import BooleanField
from django.utils import timezone

from lessons.answering.models import Answer, Mark, Reply
from lessons.demo.histories import lives
from lessons.demo.people import HANDS
from lessons.demo.truth import MAKERS, REEDS_EACH
from lessons.demonstration.models import Demonstration
from lessons.lesson.models import Lesson
from lessons.lesson.pages.gathered import gathered
from lessons.sending.models import Submission
from lessons.sending.pages import Later
from lessons.voice.models import Voice
from reeds.checks.findings import Outcome, in_order
from reeds.checks.mending import is_past, told
from reeds.numbers.words import PLAYING_TEST, Stage
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import Photo
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.sheet.models.own import OwnQuantity
from reeds.take.models import Take
from reeds.take.pages.sounding import shown
from studio.asked import holding
from studio.models import Member, Person, Studio, Term
from tests import factories as make
from tests.lessons.answering.reading import came_in, words_in
from tests.studio.serving import environment, start, stop, wait_until

OUR_APPS = ("studio", "reeds", "lessons")
OFTEN = (Outcome.WITHIN, Outcome.ABOVE, Outcome.BELOW, Outcome.TOO_CLOSE, Outcome.CONTRADICTION)


@pytest.fixture(scope="module")
def served(tmp_path_factory, worker_id):
    """The data of a site that was served for the first time, and what it said; it is stopped by now.

    Loading takes a quarter of a minute: the workers of one run share the first one's.
    """
    base = tmp_path_factory.getbasetemp()
    folder = (base if worker_id == "master" else base.parent) / "served"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "said").exists():
            (folder / "said").write_text(serve_once(folder / "data", folder / "output"))
    return folder / "data", (folder / "said").read_text()


def serve_once(data, output):
    """Serve a site for the first time, stop it and return what it said."""
    shutil.rmtree(data, ignore_errors=True)  # of a worker that was ended in the middle of it
    process = start(environment(data, DEMO="1"), output)
    try:
        wait_until(lambda: "The studio is at" in output.read_text(), process)
        wait_until(lambda: "password" in output.read_text(), process)
    finally:
        stop(process)
    return output.read_text()


def taken_over(data):
    """Make rows and files of a site ours, as they are."""
    shutil.copytree(data / "files", settings.MEDIA_ROOT, dirs_exist_ok=True)
    ours = [
        model for app in OUR_APPS for model in apps.get_app_config(app).get_models(include_auto_created=True)
    ]
    with closing(sqlite3.connect(data / "studio.sqlite3")) as theirs, connection.cursor() as cursor:
        for model in ours:
            table, fields = f'"{model._meta.db_table}"', model._meta.local_concrete_fields
            columns, places = (
                ", ".join(each) for each in ((f'"{f.column}"' for f in fields), ["%s"] * len(fields))
            )
            rows = [as_kept(fields, row) for row in theirs.execute(f"SELECT {columns} FROM {table}")]  # noqa: S608
            cursor.executemany(f"INSERT INTO {table} ({columns}) VALUES ({places})", rows)  # noqa: S608
        for sql in connection.ops.sequence_reset_sql(no_style(), ours):
            cursor.execute(sql)
    return Studio.objects.get(is_demo=True)


def as_kept(fields, row):
    """Only truth is another type in SQLite's file than elsewhere; the rest reads as it is written."""
    return [
        bool(value) if isinstance(field, BooleanField) and value is not None else value
        for field, value in zip(fields, row, strict=True)
    ]


@pytest.fixture(scope="module")
def loaded(served, once):
    data, _said = served
    return once(lambda: taken_over(data))


@pytest.fixture
def demo(loaded, anew):
    return anew(loaded)


def test_the_first_time_the_site_is_served_the_demo_is_loaded_and_its_sign_ins_are_told(served):
    data, said = served
    assert said.count("password") == 1
    for who in ("teacher:  teacher", "assistant teacher: assistant", "guardian: guardian"):
        assert who in said
    assert any((data / "files").iterdir())


def test_it_has_a_term_of_believable_reeds_and_no_photo_of_the_student_under_age(demo):
    term = holding(Term.objects.filter(studio=demo), make.today())
    start, end = term.span
    reeds = Reed.objects.filter(studio=demo, is_model=False, made_at__gte=start, made_at__lt=end)
    assert reeds.count() == 60
    assert Member.objects.filter(studio=demo).students().count() == 6
    rounds = Submission.objects.filter(studio=demo, reed__in=reeds)
    assert 5 <= rounds.waiting().count() <= 20
    outcomes = {finding.outcome for row in rounds for finding in row.found}
    assert set(OFTEN) <= outcomes
    young = Member.objects.get(studio=demo, under_age=True)
    assert not young.may_send_pictures
    assert not Photo.objects.filter(reed__owner=young).exists()
    assert [list(one.wards) for one in Member.objects.filter(studio=demo).guardians()] == [[young]]
    assert rounds.filter(student=young).exists()


def numbers():
    rows = Measurement.objects.filter(studio__is_demo=True)
    rows = rows.order_by("reed__owner__person__username", "reed__number", "pk")
    return list(rows.values_list("quantity", "value", "word"))


def test_it_goes_away_whole_leaves_others_alone_and_comes_back_the_same(demo):
    """The first was loaded by another process, the second is by this one."""
    first = numbers()
    other = make.ReedFactory()
    call_command("demo", remove=True, verbosity=0)
    for model in [*apps.get_app_config("reeds").get_models(), *apps.get_app_config("lessons").get_models()]:
        if hasattr(model, "studio_id"):
            assert not model._default_manager.filter(studio=demo.pk).exists(), model
    assert Reed.objects.get() == other
    assert Person.objects.count() == 1
    left = [path for path in Path(default_storage.path("")).rglob("*") if path.is_file()]
    assert left == []
    call_command("demo", verbosity=0)
    assert numbers() == first


def drawn_length(reed):
    """How long the demo draws a reed, mm: what was tied, less what was clipped."""
    if reed.is_model:
        return 71.0
    seed, hand = next((n, h) for n, h in enumerate(HANDS, 1) if h.username == reed.owner.person.username)
    before = REEDS_EACH if hand.username in {maker.username for maker in MAKERS} else 0
    life = lives(hand, seed)[reed.number - before - 1]
    return life.tie - sum(amount for _day, amount in life.clips)


def test_some_photos_were_measured_and_can_be_laid_beside_the_teachers_model(demo, as_member):
    rows = PhotoMeasuring.objects.measured().filter(studio=demo).select_related("photo__reed__owner__person")
    assert {row.photo.reed.owner.person.username for row in rows} == {"teacher", "bruno", "dorrit"}
    for row in rows:
        value, u = row.lengths["overall_length"]
        assert value == pytest.approx(drawn_length(row.photo.reed), abs=0.3)
        assert 0.03 < u < 0.4
        assert row.flat
        assert row.flat_of == row.measured_at
    (model,) = [row for row in rows if row.photo.reed.is_model]
    theirs = [row for row in rows if row.photo.reed.owner.person.username == "dorrit"]
    assert len(theirs) == 2
    dorrit = theirs[0].photo.reed.owner
    page = as_member(dorrit).get(f"{dorrit.to('reeds:compare')}?a={theirs[0].photo_id}&b={model.photo_id}")
    assert page.context["waiting"] == []
    assert len(page.context["differences"]) > 3


def test_what_was_measured_on_a_photo_went_with_its_round_and_was_checked(demo):
    rounds = Submission.objects.filter(studio=demo, photos__measuring__measured_at__isnull=False).distinct()
    assert rounds.count() == 3
    for row in rounds:
        measured = row.measurements.filter(method="photo")
        assert "overall_length" in measured.values_list("quantity", flat=True)
        assert not row.came_later.filter(method="photo").exists()
        assert any(finding.quantity == "overall_length" for finding in row.found)


def test_some_reeds_were_recorded_and_what_was_heard_is_as_the_worker_hears_it(demo):
    takes = Take.objects.filter(studio=demo)
    assert {take.state for take in takes} == {"ready"}
    assert not any(take.raw for take in takes)
    assert not takes.filter(reed__owner__under_age=True).exists()
    assert {take.item for take in takes} == set(PLAYING_TEST)
    his = Submission.objects.filter(student__person__username="bruno", takes__isnull=False)
    newest = his.latest("sent_at")
    heard = {one.take.item: one for one in shown(newest.takes.filter(reed=newest.reed_id))}
    assert heard["low_notes"].take.result["item"] == {"asked": 4, "spoke": 2}
    assert heard["low_notes"].reference.reed.is_reference
    assert heard["low_notes"].before is not None
    assert heard["staccato"].take.result["item"]["rate_per_s"] == pytest.approx(80 / 60 * 4, rel=0.02)
    assert heard["crow"].take.result["item"]["octave"] is True
    assert [one.take.item for one in heard.values() if one.cannot_say] == []


def test_the_checks_of_the_demo_read_its_recordings(demo):
    rounds = Submission.objects.filter(studio=demo, takes__isnull=False).distinct()
    said = {
        row.student.person.username
        for row in rounds
        if any(finding.check == "recorded" and finding.outcome is Outcome.BELOW for finding in row.found)
    }
    assert said == {"bruno", "celandine"}
    (noisy,) = [row for row in rounds if any("too noisy" in finding.message for finding in row.found)]
    assert noisy.student.person.username == "dorrit"
    silent = Submission.objects.filter(student__person__username="celandine", takes__isnull=False).first()
    steps = [finding.next_step for finding in silent.found if finding.check == "recorded"]
    assert any("reference reed" in step for step in steps)


def takes_off(finding):
    return finding.irreversible or finding.waits


def test_a_round_with_recordings_holds_what_the_checks_say_with_all_of_it_there(demo):
    rounds = Submission.objects.filter(studio=demo, takes__isnull=False).distinct()
    assert rounds.count() == 4
    for row in rounds:
        later = Later(row)
        assert later.findings == []
        assert row.found == in_order(told(later.checked, Stage(row.stage)))


def test_no_round_shows_two_steps_that_cannot_be_undone(demo):
    for row in Submission.objects.sent().filter(studio=demo):
        later = Later(row)
        assert sum(map(takes_off, [*later.stored, *later.findings])) <= 1, row.pk


def test_what_asks_for_something_is_of_the_present_stage_or_can_still_be_mended(demo):
    asking = [
        (submission, found)
        for submission in Submission.objects.sent().filter(studio=demo)
        for found in submission.found
        if found.needs_attention
    ]
    known = OwnQuantity.objects.filter(studio=demo).known()
    assert len(asking) > 100
    assert not [found for submission, found in asking if is_past(found, Stage(submission.stage), known)]


def test_an_ordinary_round_is_read_in_sixty_words(demo, as_member):
    """Each round of the queue, and their median: whatever can be read before anything is unfolded."""
    teacher = Member.objects.get(studio=demo, person__username="teacher")
    rows = Submission.objects.visible_to(teacher).waiting().foremost()
    desk = as_member(teacher)
    words = {row: words_in(came_in(desk.get(teacher.to("lessons:review", row.pk)))) for row in rows}
    ordinary = [
        row for row in rows if sum(one.accuses for one in row.found) <= 2 and not row.older_waiting().exists()
    ]
    assert len(ordinary) > 5
    assert max(words[row] for row in ordinary) <= 60, words
    assert max(words.values()) <= 70, words
    assert sorted(words.values())[len(words) // 2] <= 45, words


def test_the_teacher_marked_a_passage_with_words_in_an_answer_that_was_sent(demo):
    (mark,) = Mark.objects.filter(studio=demo, take__isnull=False)
    assert mark.answer.sent_at is not None
    assert mark.words
    assert 0 < mark.span.start_s < mark.span.end_s < mark.take.result["duration_s"]


def test_it_has_one_of_each_of_the_teachers_hour(demo, as_member):
    teacher = Member.objects.get(studio=demo, person__username="teacher")
    reply = Reply.objects.get(studio=demo)
    assert reply.by == reply.submission.student
    assert reply.is_unread
    assert list(Reply.objects.visible_to(teacher).unread_by(teacher)) == [reply]
    voice = Voice.objects.get(studio=demo)
    assert voice.sound_is_ready
    assert voice.answers.get().sent_at is not None
    assert {(row.photo_state, row.sound_state) for row in Demonstration.objects.filter(studio=demo)} == {
        ("ready", ""),
        ("", "ready"),
    }
    alike = Answer.objects.filter(studio=demo, together__isnull=False)
    assert [str(one.submission.reed.number) in one.words for one in alike] == [True, True]
    assert Answer.objects.sent().filter(studio=demo, demonstration__isnull=False).exists()


def test_the_next_lesson_of_somebody_gathers_a_reed_and_the_agreed_step(demo):
    teacher = Member.objects.get(studio=demo, person__username="teacher")
    found = [
        one
        for lesson in Lesson.objects.filter(studio=demo, at__gt=timezone.now())
        for one in gathered(lesson, teacher)
    ]
    assert any(one.before.agreed for one in found)
    assert any(one.open_rounds for one in found)
    assert any(one.brought for one in found)
