"""Asking for an export, the worker that makes it, fetching it, and its end."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from pathlib import Path

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.utils import timezone

from lessons.export import bundle, tasks
from lessons.export.actions import ask, drop, forget_spent
from lessons.export.models import KEPT, Export, Wanted
from lessons.export.tasks import make_export
from reeds.sweep import sweep
from studio.errors import NotPossible
from studio.models import Member, Role
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, shape="the only shape")


@pytest.fixture
def asked(django_capture_on_commit_callbacks):
    """Return a function that asks and lets the worker work, as the immediate backend does."""

    def done(by, wanted=None):
        with django_capture_on_commit_callbacks(execute=True):
            row = ask(by, wanted or Wanted())
        return Export.objects.get(pk=row.pk)

    return done


def files(settings):
    folder = Path(settings.MEDIA_ROOT) / "exports"
    return [path for path in folder.rglob("*") if path.is_file()]


def unpacked(answer):
    return zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))


# --- the worker -----------------------------------------------------------------------------------


def test_the_worker_makes_it_and_says_that_it_is_ready(asked, student, reed, settings):
    row = asked(student)
    assert (row.state, row.refusal) == ("ready", "")
    (path,) = files(settings)
    assert row.size_bytes == path.stat().st_size
    assert path.name == Path(row.file.name).name
    assert "the only shape" in zipfile.ZipFile(path).read("csv/reeds.csv").decode()


def test_made_twice_it_is_made_once(asked, student, settings):
    row = asked(student)
    before = files(settings)[0].read_bytes()
    make_export.func(row.pk)
    assert [path.read_bytes() for path in files(settings)] == [before]
    make_export.func(row.pk + 100)  # none such


def test_one_that_was_dropped_while_it_was_made_leaves_nothing(student, settings, monkeypatch):
    row = ask(student, Wanted())
    write = bundle.write_bundle

    def dropped_meanwhile(*args):
        write(*args)
        drop(row)

    monkeypatch.setattr(bundle, "write_bundle", dropped_meanwhile)
    make_export.func(row.pk)
    assert files(settings) == []
    assert not Export.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (OSError(28, "No space left on device"), tasks.NO_ROOM),
        (NotPossible("Too much of it."), "Too much of it."),
    ],
)
def test_what_cannot_be_made_says_why(student, settings, monkeypatch, as_member, wrong, sentence):
    def fails(*_args):
        raise wrong

    monkeypatch.setattr(bundle, "write_bundle", fails)
    row = ask(student, Wanted())
    make_export.func(row.pk)
    row.refresh_from_db()
    assert (row.state, row.refusal) == ("failed", sentence)
    assert files(settings) == []
    page = as_member(student).get(student.to("lessons:export")).content.decode()
    assert sentence in page
    assert "hx-get" not in page
    assert "Make it" in page


def test_what_nobody_foresaw_says_so_and_is_in_the_log(student, monkeypatch):
    def fails(*_args):
        raise ZeroDivisionError

    monkeypatch.setattr(bundle, "write_bundle", fails)
    row = ask(student, Wanted())
    with pytest.raises(ZeroDivisionError):
        make_export.func(row.pk)
    row.refresh_from_db()
    assert (row.state, row.refusal) == ("failed", tasks.BROKEN)


def test_one_at_a_time(student):
    first = ask(student, Wanted())
    with pytest.raises(NotPossible, match="being made already"):
        ask(student, Wanted())
    with pytest.raises(IntegrityError), transaction.atomic():
        Export.objects.create(studio=student.studio, member=student, by_teacher=False)
    assert Export.objects.get().pk == first.pk


def test_one_that_was_asked_for_twice_at_the_same_moment_is_one(student, monkeypatch):
    """Both have looked before either has written."""
    ask(student, Wanted())
    monkeypatch.setattr(Export.objects, "filter", lambda **_given: Export.objects.none())
    with pytest.raises(NotPossible, match="being made already"):
        ask(student, Wanted())


def test_one_that_no_worker_finished_does_not_stand_in_the_way(student, asked, as_member):
    with time_machine.travel(timezone.now() - dt.timedelta(hours=2)):
        lost = ask(student, Wanted())
    page = as_member(student).get(student.to("lessons:export")).content.decode()
    assert "It could not be made" in page
    assert asked(student).pk != lost.pk
    assert Export.objects.count() == 1


def test_a_new_one_takes_the_place_of_the_old(asked, student, settings):
    (first,) = [asked(student)]
    second = asked(student)
    assert [path.name for path in files(settings)] == [Path(second.file.name).name]
    assert first.file.name != second.file.name


# --- asking and fetching --------------------------------------------------------------------------


def post(client, member, **given):
    return client.post(member.to("lessons:export"), given)


def test_a_student_asks_and_fetches(as_member, student, reed, django_capture_on_commit_callbacks):
    client = as_member(student)
    page = client.get(student.to("lessons:export")).content.decode()
    assert "Whose" not in page
    with django_capture_on_commit_callbacks(execute=True):
        answer = post(client, student)
    assert answer.url == student.to("lessons:export")
    row = Export.objects.get()
    page = client.get(answer.url).content.decode()
    assert student.to("lessons:export_file", row.pk) in page
    assert "Delete it now" in page
    answer = client.get(student.to("lessons:export_file", row.pk))
    assert answer["Content-Disposition"].startswith('attachment; filename="reeds-studio-')
    assert "no-store" in answer["Cache-Control"]
    assert "csv/reeds.csv" in unpacked(answer).namelist()


def test_nobody_else_fetches_it(as_member, asked, student, other_student, teacher, stranger):
    row = asked(student)
    for member in (other_student, teacher, stranger):
        path = member.to("lessons:export_file", row.pk)
        assert as_member(member).get(path).status_code == 404
        assert as_member(member).post(member.to("lessons:export_drop", row.pk)).status_code == 404
        assert student.to("lessons:export_file", row.pk) not in page_of(as_member, member)
    assert as_member(student).get(student.to("lessons:export_file", row.pk)).close() is None


def page_of(as_member, member):
    return as_member(member).get(member.to("lessons:export")).content.decode()


def test_who_teaches_no_more_fetches_no_teachers_export(as_member, asked, teacher):
    row = asked(teacher)
    Member.objects.filter(pk=teacher.pk).update(role=Role.STUDENT)
    assert as_member(teacher).get(teacher.to("lessons:export_file", row.pk)).status_code == 404
    assert "Fetch the file" not in page_of(as_member, teacher)


def test_who_has_left_fetches_nothing(as_member, asked, student):
    row = asked(student)
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    assert as_member(student).get(student.to("lessons:export_file", row.pk)).status_code == 404


def test_a_teacher_chooses_a_student_and_a_term(as_member, teacher, student, other_student):
    term = make.TermFactory(studio=teacher.studio, starts_on="2026-03-01", ends_on="2026-05-31")
    answer = post(as_member(teacher), teacher, student=student.pk, term=term.pk, without_pictures="on")
    assert answer.status_code == 302
    row = Export.objects.get()
    assert (row.member, row.student, row.term, row.with_pictures) == (teacher, student, term, False)


def test_a_student_can_choose_nobody_else(as_member, student, other_student):
    post(as_member(student), student, student=other_student.pk)
    assert Export.objects.get().student is None


@pytest.mark.parametrize("field", ["student", "term"])
@pytest.mark.parametrize("given", ["0", "99999999", "x", "-1", "1'--"])
def test_what_cannot_be_chosen_is_refused_with_a_sentence(as_member, teacher, field, given):
    answer = post(as_member(teacher), teacher, **{field: given})
    assert answer.status_code == 422
    assert "valid choice" in answer.content.decode()
    assert not Export.objects.exists()


def test_another_studios_student_and_term_are_refused(as_member, teacher, stranger):
    theirs = make.student(studio=stranger.studio)
    term = make.TermFactory(studio=stranger.studio, starts_on="2026-03-01", ends_on="2026-05-31")
    for given in ({"student": theirs.pk}, {"term": term.pk}):
        assert post(as_member(teacher), teacher, **given).status_code == 422


def test_a_second_while_the_first_is_made_is_told_to_wait(as_member, student):
    client = as_member(student)
    post(client, student)
    answer = post(client, student)
    assert answer.status_code == 422
    assert "An export is being made already" in answer.content.decode()


def test_the_page_asks_until_it_is_ready_then_stops(as_member, student):
    client, path = as_member(student), student.to("lessons:export_state")
    assert "hx-get" not in client.get(path).content.decode()
    row = ask(student, Wanted())
    assert f"{path}?tries=6" in client.get(path, {"tries": 5}).content.decode()
    assert "hx-get" not in client.get(path, {"tries": 60}).content.decode()
    assert client.get(student.to("lessons:export_file", row.pk)).status_code == 404
    make_export.func(row.pk)
    ready = client.get(path).content.decode()
    assert "hx-get" not in ready
    assert "Fetch the file" in ready


def test_the_term_page_and_ones_own_lead_to_it(as_member, teacher, student):
    term = make.TermFactory(studio=teacher.studio, starts_on="2020-01-01", ends_on="2099-01-01")
    make.ReedFactory(owner=student)
    shown = as_member(teacher).get(teacher.to("lessons:term", student.pk)).content.decode()
    link = f"{teacher.to('lessons:export')}?term={term.pk}&amp;student={student.pk}"
    assert link in shown
    form = as_member(teacher).get(link.replace("&amp;", "&")).content.decode()
    assert f'<option value="{term.pk}" selected>' in form
    assert f'<option value="{student.pk}" selected>' in form
    assert as_member(teacher).get(teacher.to("lessons:export") + "?term=x&student=%00").status_code == 200
    assert student.to("lessons:export") in as_member(student).get(student.to("me")).content.decode()
    settings = as_member(teacher).get(teacher.to("studio_settings")).content.decode()
    assert teacher.to("lessons:export") in settings


# --- its end --------------------------------------------------------------------------------------


def test_it_is_deleted_when_asked(as_member, asked, student, settings, django_capture_on_commit_callbacks):
    row = asked(student)
    path = student.to("lessons:export_drop", row.pk)
    assert as_member(student).get(path).status_code == 405
    with django_capture_on_commit_callbacks(execute=True):
        assert as_member(student).post(path).url == student.to("lessons:export")
    assert not Export.objects.exists()
    assert files(settings) == []


def test_the_sweep_deletes_it_after_some_days(asked, student, other_student, settings):
    row, other = asked(student), asked(other_student)
    soon = row.asked_at + KEPT - dt.timedelta(minutes=1)
    sweep(soon)
    assert len(files(settings)) == Export.objects.count() == 2
    Export.objects.filter(pk=other.pk).update(asked_at=row.asked_at + dt.timedelta(days=1))
    late = row.asked_at + KEPT + dt.timedelta(minutes=1)
    assert forget_spent(late - dt.timedelta(days=1)) == 1
    sweep(late)
    assert Export.objects.get() == other
    assert [path.name for path in files(settings)] == [Path(other.file.name).name]


def test_the_sweep_deletes_a_file_that_no_export_has(asked, student, settings):
    row = asked(student)
    Export.objects.filter(pk=row.pk).delete()
    assert len(files(settings)) == 1
    sweep(timezone.now() + dt.timedelta(days=2))
    assert files(settings) == []
