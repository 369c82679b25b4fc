"""The studio's report of a term: its figures, who may read it, and its PDF of two pages at most."""

import datetime as dt
from pathlib import Path

import pytest
from django.utils import timezone

from lessons.letter import actions, tasks
from lessons.letter.models import TermReport
from lessons.letter.pages.report import MOST_STUDENTS
from lessons.letter.press import PressFailed
from tests import factories as make
from tests.lessons.letter import make_letter as of

HTMX = {"HX-Request": "true"}


@pytest.fixture
def term(teacher):
    return of.term(teacher.studio)


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def address(teacher, term):
    return lambda name="report": teacher.to(f"lessons:{name}", term.pk)


def reeds(student, stages, days=20):
    at = timezone.now() - dt.timedelta(days=days)
    for stage in stages:
        make.ReedFactory(owner=student, made_at=at, stage=stage)


def test_every_figure_says_of_what(desk, address, student, other_student):
    reeds(student, ["playing", "playing", "given_up", "tied"])
    reeds(other_student, ["playing"])
    make.sent_round(student, days=10, findings=[make.finding("differs", check="airtight")])
    page = desk.get(address()).content.decode()
    words = " ".join(page.split())
    assert "6 reeds, sent in 1 round" in words
    assert "3 of 4: 75 %" in words
    assert "2 still on their way" in words
    assert "1 of 1: 100 % (21 to 100)" in words
    for name, made, played in ((student, 5, "2 of 3"), (other_student, 1, "1 of 1")):
        row = words.split(f'<th scope="row">{name}</th>')[1].split("</tr>")[0]
        assert f">{made}</td>" in row
        assert played in row


def test_students_stand_by_name_and_who_has_a_letter(desk, address, teacher, student, other_student, term):
    reeds(other_student, ["playing"] * 3)
    of.given(teacher, student, term)
    page = desk.get(address()).content.decode()
    assert page.index(f">{student}<") < page.index(f">{other_student}<")
    assert f"{make.today():%-d %b}" in page.split(f">{student}<")[1].split("</tr>")[0]


def test_who_brought_in_reeds_of_before_they_joined_is_among_them(desk, teacher):
    today = make.today()
    past = make.TermFactory(
        studio=teacher.studio, starts_on=today - dt.timedelta(300), ends_on=today - dt.timedelta(200)
    )
    newcomer, later = make.student(studio=teacher.studio), make.student(studio=teacher.studio)
    reeds(newcomer, ["playing"], days=250)
    page = desk.get(teacher.to("lessons:report", past.pk)).content.decode()
    assert f">{newcomer}<" in page
    assert f">{later}<" not in page


def test_an_empty_term_says_so(desk, address):
    assert "Nothing was made or sent in these weeks yet." in desk.get(address()).content.decode()


def test_it_is_the_teachers_alone(as_member, address, student, stranger, term):
    for member in (student, stranger):
        for name in ("report", "report_made", "report_pdf"):
            assert as_member(member).get(address(name)).status_code == 404
            assert as_member(member).get(member.to(f"lessons:{name}", term.pk)).status_code == 404
        assert as_member(member).post(address("report_make")).status_code == 404
    assert not TermReport.objects.exists()


def test_looking_at_it_makes_nothing_and_without_a_pdf_one_is_led_back(desk, address):
    assert desk.get(address("report_pdf"))["Location"] == address()
    assert not TermReport.objects.exists()


# --- the PDF --------------------------------------------------------------------------------------


@pytest.fixture
def made(desk, address, django_capture_on_commit_callbacks):
    def make_it():
        with django_capture_on_commit_callbacks(execute=True):
            assert desk.post(address("report_make")).status_code == 302
        return TermReport.objects.get()

    return make_it


def read(report):
    return of.read(Path(report.pdf.path).read_bytes())


def test_it_is_made_of_the_figures_of_that_moment(desk, address, made, student, teacher):
    reeds(student, ["playing", "given_up"])
    report = made()
    reeds(student, ["playing"])
    pdf, text = read(report), of.text_of(read(report))
    assert (len(pdf.pages), report.made_by) == (1, teacher)
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"].value
    assert pdf.trailer["/Root"]["/Lang"] == "en"
    assert pdf.metadata.title == f"{teacher.studio}, Autumn: report"
    assert "2 reeds" in text
    page = desk.get(address()).content.decode()
    assert "3 reeds" in page
    assert "as it stood on" in page
    answer = desk.get(address("report_pdf"))
    assert b"".join(answer.streaming_content).startswith(b"%PDF")


def test_made_anew_it_takes_the_place_of_the_one_before(made, student):
    reeds(student, ["playing"])
    old = Path(made().pdf.path)
    reeds(student, ["playing"])
    assert "2 reeds" in of.text_of(read(made()))
    assert not old.exists()
    assert TermReport.objects.count() == 1


def test_of_a_large_studio_it_is_two_pages(made, teacher, desk, address):
    students = [make.student(studio=teacher.studio) for _ in range(MOST_STUDENTS + 6)]
    version = make.VersionFactory(pattern__studio=teacher.studio)
    for one in students:
        make.ReedFactory(owner=one, version=version, stage="playing", number=1)
    report = made()
    assert (report.pdf_pages, report.pdf_refusal) == (2, "")
    assert "6 more students stand on the page of the term." in of.text_of(read(report))


def test_how_far_it_is_and_where_it_ends(desk, address, student, monkeypatch, made):
    reeds(student, ["playing"])
    part = desk.post(address("report_make"), headers=HTMX).content.decode()
    assert f"{address('report_made')}?tries=2" in part
    part = desk.get(address("report_made"), {"tries": "24"}, headers=HTMX).content.decode()
    assert "This takes longer than usual" in part
    assert "hx-get" not in part

    def fail(*_given, **_named):
        raise PressFailed

    monkeypatch.setattr(tasks, "pressed", fail)
    made()
    part = desk.get(address("report_made"), headers=HTMX).content.decode()
    assert "The PDF could not be made." in part
    assert address("report_make") in part


def test_a_task_whose_report_is_gone_does_nothing(teacher, term):
    report = actions.keep_report(term, teacher, "<p>x</p>")
    term.delete()
    tasks.press_report.call(report.pk)
    assert not TermReport.objects.exists()
