"""The shell brings a list in as the page does, says the same, and ends with a status for scripts."""

from __future__ import annotations

import pytest
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.base import CommandError

from lessons.log.models import ReedLog
from lessons.log.pages import LogPage, told_in_lines
from reeds.reed.models.reed import Reed
from tests import factories as make
from tests.lessons.log.lists import DAY, GERMAN_STYLE, upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(tmp_path, capsys, student):
    """Return a function that runs the command on a text and gives its status and what it says."""

    def ran(text=None, *args, studio=student.studio.name, who=student.person.username, name="reeds.csv"):
        words = ["import_log"]
        if text is not None:
            (tmp_path / name).write_bytes(text if isinstance(text, bytes) else text.encode())
            words += [str(tmp_path / name), "--studio", str(studio)]
        words += ["--student", who] if who and text is not None else []
        try:
            call_command(*words, *args)
        except CommandError as ended:
            return ended.returncode, capsys.readouterr().out + str(ended)
        return 0, capsys.readouterr().out

    return ran


def left(settings):
    return [path for path in default_storage.listdir("logs")[0] if default_storage.listdir(f"logs/{path}")[1]]


def test_a_check_says_what_the_page_says_and_writes_nothing(run, student, settings):
    status, said = run(GERMAN_STYLE, "--check")
    assert status == 0
    assert "3 new reeds" in said
    assert "Tie length (cm) → tie length" in said
    assert not Reed.objects.exists()
    assert not ReedLog.objects.exists()
    assert left(settings) == []
    page = told_in_lines(LogPage(upload(student, GERMAN_STYLE)))
    assert said.splitlines() == page


def test_without_check_it_is_brought_in_and_says_how_to_take_it_back(run, student):
    status, said = run(GERMAN_STYLE)
    log = ReedLog.objects.get()
    assert (status, log.is_written, log.by, log.student) == (0, True, None, student)
    assert f"import_log --undo {log.pk}" in said
    assert {reed.owner for reed in Reed.objects.all()} == {student}
    status, said = run(None, "--undo", str(log.pk))
    assert (status, Reed.objects.count()) == (0, 0)
    assert "is taken back: 3 new reeds" in said


def test_rows_in_error_end_with_one(run):
    text = f"reed,made on,tie length\n1,{DAY},7.2\n2,{DAY},72\n"
    for more in (["--check"], []):
        status, said = run(text, *more)
        assert status == 1
        assert "Row 2, “tie length”: 7.2 cannot be right for tie length. Did you mean 72?" in said
        assert not Reed.objects.exists()
    assert run(text, "--leave-rows")[0] == 0
    assert Reed.objects.get().number == 2


@pytest.mark.parametrize(
    ("text", "args", "sentence"),
    [
        (b"", [], "This file is empty."),
        (b"\x89PNG\r\n\x1a\n\x00", [], "no table of text"),
        (f"reed,made on,colour\n1,{DAY},red\n", [], "Some columns are not known"),
        ("reed,made on\n1,3/4/2026\n", [], "read two ways"),
        ("reed,made on\n1,3/4/2026\n", ["--column", "reed=nothing"], "--column wants HEADING=KEY"),
        ("reed,made on\n1,3/4/2026\n", ["--sheet", "nowhere"], "no measuring sheet"),
    ],
)
def test_what_is_refused_ends_with_two_and_leaves_nothing(run, settings, text, args, sentence):
    status, said = run(text, *args)
    assert status == 2
    assert sentence in said
    assert not ReedLog.objects.exists()


def test_options_settle_what_the_page_asks(run, student):
    text = "no,begun,length,colour\n1,3/4/2026,72,red\n"
    columns = ["--column", "length=tie_length", "--column", "colour="]
    status, said = run(text, "--days", "month", *columns, "--check")
    assert status == 0, said
    assert "colour → left out" in said
    assert run(text, "--days", "month", "--column", "length=tie_length", "--leave-columns")[0] == 0
    reed = Reed.objects.get()
    assert (reed.made_at.month, reed.measurements.get().value) == (3, 72.0)
    assert run(text, "--days", "month", "--leave-columns", "--existing", "new")[0] == 2
    assert run(text, "--days", "month", "--leave-columns", "--existing", "new", "--again")[0] == 0
    assert Reed.objects.count() == 2


def test_who_and_where_must_be_one(run, teacher, student, stranger):
    assert run(GERMAN_STYLE, studio="nowhere")[0] == 2
    assert run(GERMAN_STYLE, studio=student.studio.pk, who="")[0] == 1  # no row says whose it is
    assert run(GERMAN_STYLE, who=stranger.person.username)[0] == 2
    make.StudioFactory(name=student.studio.name)
    assert run(GERMAN_STYLE)[0] == 2
    assert not Reed.objects.exists()


def test_what_is_not_there_cannot_be_taken_back(run, student):
    assert run(None, "--undo", "99")[0] == 2
    assert run(None, "--undo", str(upload(student, GERMAN_STYLE).pk))[0] == 2
    with pytest.raises(CommandError, match="Name the file"):
        call_command("import_log", "--studio", student.studio.name)
    with pytest.raises(CommandError, match="There is no file"):
        call_command("import_log", "not-there.csv", "--studio", student.studio.name)
