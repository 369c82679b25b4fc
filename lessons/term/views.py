"""Looking back on a term: a student's own, a student's for the teacher, or the studio's."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from lessons.term.fetched import Fetched
from lessons.term.mine import Mine
from lessons.term.pages import TermFigures
from lessons.term.people import Beside, students_of
from lessons.term.pictures import StudentPictures, StudioPictures
from lessons.term.said import by_student, told
from reeds.numbers.quantity import Known, Quantity
from studio.access import MemberRequest, fetch
from studio.asked import term_among, term_asked, terms_of
from studio.models import Member, Term
from studio.roles import guardians_too

# own choice: a term of so many reeds, one student's or a studio's, is reckoned in a tenth of a second
AT_ONCE = 100
WHOLE = "whole"


@guardians_too
def term(request: MemberRequest, pk: int | None = None) -> HttpResponse:
    """Show one term in sentences, pictures and figures; a student sees their own, whoever is asked for."""
    student = _student(request, pk)
    terms = terms_of(request.member)
    chosen = term_among(terms, request.GET.get("term", ""))
    page: dict[str, object] = {"student": student, "terms": terms, "term": chosen}
    if chosen is not None and _comes_later(request, chosen, student):
        page["later"] = _whole(request)
    elif chosen is not None:
        figures = TermFigures(chosen, request.member, student)
        people = students_of(figures.rows) if not student or request.member.teaches else []
        said = told(figures.rows, people)
        page |= {
            "figures": figures,
            "tables": _address(request, "lessons:term_reckoned", student, chosen),
            "drawn_at": _address(request, "lessons:term_pictures", student, chosen),
            "told": said,
            "mine": Mine(figures.rows, said) if _is_own(request, student) else None,
            "pictures": StudentPictures(figures.rows, student)
            if student
            else StudioPictures(figures.rows, people, by_student(said), _quantity(request, figures.known)),
            "beside": Beside.of(student, people) if student and request.member.teaches else None,
        }
    return render(request, "lessons/term/term.html", page)


@guardians_too
@require_safe
def reckoned(request: MemberRequest, pk: int | None = None) -> HttpResponse:
    """Show the tables behind a term's sentences and pictures: the studio's, or one student's.

    They take as long to reckon as all the rest of a term's page, so they come when they are asked for.
    """
    page = _part_of_the_term(request, pk)
    return render(request, "lessons/term/reckoned.html", vars(page))


@guardians_too
@require_safe
def pictures(request: MemberRequest, pk: int | None = None) -> HttpResponse:
    """Show all numbers of one student's term in pictures, which most of its readers leave folded."""
    page = _part_of_the_term(request, pk)
    if page.student is None:
        return redirect(request.member.to("lessons:term"))  # a studio's are drawn one quantity at a time
    drawn = StudentPictures(page.figures.rows, page.student)
    return render(request, "lessons/term/in_pictures.html", vars(page) | {"pictures": drawn})


@dataclass(frozen=True)
class TermPart:
    """What every part of a term needs that has a page of its own."""

    student: Member | None
    term: Term
    figures: TermFigures
    whole: str
    tables: str


def _part_of_the_term(request: MemberRequest, pk: int | None) -> TermPart:
    """Return whose term is asked for, and its figures; answer 404 where none has been named."""
    student = _student(request, pk)
    chosen = term_asked(request.member, request.GET.get("term", ""))
    if chosen is None:
        raise Http404
    figures = TermFigures(chosen, request.member, student)
    whole, tables = (
        _address(request, name, student, chosen) for name in ("lessons:term", "lessons:term_reckoned")
    )
    return TermPart(student, chosen, figures, whole, tables)


def _address(request: MemberRequest, name: str, student: Member | None, chosen: Term) -> str:
    """Return where a term or a part of it is: a student's own without their number."""
    whose = [] if student is None or _is_own(request, student) else [student.pk]
    return f"{request.member.to(name, *whose)}?term={chosen.pk}"


def _is_own(request: MemberRequest, student: Member | None) -> bool:
    """Whether a student asks for their own term; a teacher's without a number is the studio's."""
    return student == request.member and not request.member.teaches


def _comes_later(request: MemberRequest, chosen: Term, student: Member | None) -> bool:
    """Whether the page says first where one is: of so many reeds all that it tells takes a second or more."""
    return WHOLE not in request.GET and Fetched(chosen, request.member, student).made() > AT_ONCE


def _whole(request: MemberRequest) -> str:
    """What is asked for, and all of it."""
    query = request.GET.copy()
    query[WHOLE] = "1"
    return query.urlencode()


def _quantity(request: MemberRequest, known: Known) -> Quantity | None:
    """What is asked to be drawn, or nothing; answer 404 to what is no number of the studio."""
    asked = request.GET.get("quantity", "")
    if asked and (asked not in known or not known[asked].is_number):
        raise Http404
    return known[asked] if asked else None


def _student(request: MemberRequest, pk: int | None) -> Member | None:
    if request.member.is_guardian and pk is None:
        raise Http404  # whose, is always said
    if not request.member.teaches and pk is None:
        return request.member
    return None if pk is None else fetch(Member.objects.select_related("person"), request.member, pk)
