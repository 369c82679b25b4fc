"""Letters and reports made into PDF by the worker, and a student told. Run twice is the same as once."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.core.files.base import ContentFile
from django.utils.translation import gettext as _
from django_tasks import task

from lessons.letter.models import Letter, OnPaper, PressState, TermReport
from lessons.letter.press import Pressed, PressFailed, PressMissing, Sheet, pressed
from lessons.letter.sheet import LetterOnPaper, mark_of, plain_sheet, smaller
from lessons.sending.tasks import Told, tell_once
from reeds.numbers.words import gettext_noop
from reeds.photo.tasks.look import flatten_photo
from studio.reading import written_for

MOST_PAGES = 2
NO_LIBRARIES = gettext_noop("This server cannot make PDFs: print this page instead, it is set for A4.")
NOT_MADE = gettext_noop("The PDF could not be made. Print this page instead, or have it tried again.")
TOO_LONG = gettext_noop("It fills more than two pages: shorten your words or leave some lines out.")


@task(queue_name="papers")
def press_letter(letter_id: int) -> None:
    """Make the PDF of a letter as it stands, if that is not there."""
    paper = _paper(letter_id)
    if paper is None:
        return  # the draft was thrown away meanwhile
    for one in paper.unlaid:
        flatten_photo.call(one.measuring.photo_id)
    paper = LetterOnPaper(paper.letter)
    settle(paper.letter, paper.mark, paper.sheet)
    _let_go_of_erased(letter_id, paper.mark)


def _paper(letter_id: int) -> LetterOnPaper | None:
    rows = Letter.objects.select_related("studio", "student__person", "given_by__person")
    letter = rows.filter(pk=letter_id).first()
    return LetterOnPaper(letter) if letter else None


def _let_go_of_erased(letter_id: int, mark: str) -> None:
    """Delete a PDF that shows photos which were erased while it was made."""
    now = _paper(letter_id)
    if now and now.letter.pdf and now.letter.pdf_of == mark != now.mark:
        now.letter.pdf.storage.delete(str(now.letter.pdf.name))
        Letter.objects.filter(pk=letter_id, pdf_of=mark).update(pdf="", pdf_of="", pdf_state="")


@task(queue_name="papers")
def press_report(report_id: int) -> None:
    """Make the PDF of a report as it was kept."""
    report = TermReport.objects.filter(pk=report_id).first()
    if report is not None:
        settle(report, mark_of(report.html, {}), lambda: plain_sheet(report.html))


@task(queue_name="mail")
def tell_of_letter(letter_id: int) -> None:
    """Tell a student that a letter was given."""
    letter = Letter.objects.given().select_related("student__person", "studio").filter(pk=letter_id).first()
    if letter is None:
        return
    path = letter.student.to("lessons:letter", letter.pk)
    with written_for(letter.student.person):
        text = _("Your letter of the term %(term)s is there.") % {"term": letter.term_name}
        subject = _("A letter from %(studio)s") % {"studio": letter.studio}
        told = Told(f"letter {letter.pk}", text, path)
        tell_once(letter.student, " ".join(subject.split()), [told], _("There is a letter of the term."))


def settle(row: OnPaper, mark: str, sheet: Callable[[], Sheet]) -> None:
    """Keep the PDF of what `mark` stands for, or why there is none; what it replaces is deleted."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    if row.pdf and row.pdf_of == mark:
        rows.update(pdf_state=PressState.READY, pdf_refusal="")
        return
    old, storage = str(row.pdf.name or ""), row.pdf.storage
    columns = _made(row, sheet)
    if not rows.update(**columns, pdf_of=mark) and columns["pdf"]:
        storage.delete(str(columns["pdf"]))  # the row is gone
    if old:
        storage.delete(old)


def _made(row: OnPaper, sheet: Callable[[], Sheet]) -> dict[str, object]:
    try:
        done = _on_few_pages(sheet())
    except PressMissing:
        return _failed(NO_LIBRARIES)
    except (PressFailed, FileNotFoundError):
        return _failed(NOT_MADE)
    return _kept(row, done) if done.pages <= MOST_PAGES else _failed(TOO_LONG, done.pages)


def _on_few_pages(sheet: Sheet) -> Pressed:
    """Press it, in smaller type where it is too long: letters of one machine are wider than another's."""
    done = pressed(sheet, hidden=settings.ENVIRONMENT)
    return done if done.pages <= MOST_PAGES else pressed(smaller(sheet), hidden=settings.ENVIRONMENT)


def _failed(refusal: str, pages: int | None = None) -> dict[str, object]:
    return {"pdf": "", "pdf_state": PressState.FAILED, "pdf_refusal": refusal, "pdf_pages": pages}


def _kept(row: OnPaper, done: Pressed) -> dict[str, object]:
    row.pdf.save("letter.pdf", ContentFile(done.pdf), save=False)
    ready = {"pdf_state": PressState.READY, "pdf_refusal": "", "pdf_pages": done.pages}
    return {"pdf": row.pdf.name, **ready}


def _given_up(letter_id: int) -> None:
    Letter.objects.filter(pk=letter_id).exclude(pdf_state=PressState.READY).update(**_failed(NOT_MADE))


def _report_given_up(report_id: int) -> None:
    rows = TermReport.objects.filter(pk=report_id).exclude(pdf_state=PressState.READY)
    rows.update(**_failed(NOT_MADE))


GIVEN_UP = {"press_letter": _given_up, "press_report": _report_given_up, "tell_of_letter": None}
