"""What is done with a reed at the bench: forms, each in a fold of its page and made when that is opened."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from reeds.checks.experiments import Experiment
from reeds.checks.next_steps import experiment_in
from reeds.fields import MeasuredOnceForm
from reeds.numbers.words import Stage, Style
from reeds.reed.facts import answers_of
from reeds.reed.findings import findings_of
from reeds.reed.forms.numbers import NumbersForm
from reeds.reed.forms.reed import ClipForm, GiveUpForm, SheetMoveForm, StepForm
from reeds.reed.forms.strokes import LifeForm, StrokesForm
from reeds.reed.models.reed import Reed
from reeds.timeline.views.rows import asked_of, reed_for
from studio.access import MemberRequest
from studio.models import Member

Doing = Experiment | None
FORMS: dict[str, Callable[[Member, Reed, Doing], Mapping[str, Any]]] = {
    "life": lambda _member, _reed, _doing: {"life_form": LifeForm()},
    "numbers": lambda _member, reed, _doing: {
        "numbers": NumbersForm(asked_of(reed)),
        "once": MeasuredOnceForm(),
    },
    "step": lambda _member, reed, _doing: {"step": StepForm(reed)},
    "strokes": lambda _member, _reed, doing: {"strokes": StrokesForm(doing=doing)},
    "clip": lambda _member, _reed, _doing: {"clip": ClipForm()},
    "end": lambda _member, _reed, _doing: {"end": GiveUpForm()},
    "reference": lambda _member, _reed, _doing: {},
    "sheet": lambda member, reed, _doing: {"move": SheetMoveForm(member, reed)},
}


@dataclass(frozen=True)
class Fold:
    """One thing to do with a reed; open where it is the usual next step, or was refused just now."""

    part: str
    words: str
    is_open: bool

    @property
    def template(self) -> str:
        """The form within it."""
        return f"reeds/timeline/bench/{self.part}.html"


def folds_of(reed: Reed, member: Member, doing: Doing, refused: str = "") -> list[Fold]:
    """Return what this member may do with a reed as it stands, and what was `refused` in any case."""
    there = _there(reed, member)
    opened = {refused, "" if doing is None else "strokes" if doing.strokes else "clip"}
    words = _words(reed, doing)
    return [Fold(part, words[part], part in opened) for part in FORMS if there[part] or part == refused]


def _there(reed: Reed, member: Member) -> dict[str, bool]:
    stage, is_own = Stage(reed.stage), reed.owner_id == member.pk
    return {
        "life": stage is Stage.PLAYING,
        "numbers": True,
        "step": True,
        "strokes": reed.is_in_hand,
        "clip": Stage.TIED.order <= stage.order < Stage.PLAYED_OUT.order,
        "end": not stage.is_over,
        "reference": is_own and not stage.is_over and (reed.is_played or reed.is_reference),
        "sheet": member.teaches,
    }


def _words(reed: Reed, doing: Doing) -> dict[str, str]:
    good = _("Is it a good reed to compare with?")
    return {
        "life": _("Another day, soft, put away"),
        "numbers": _("Add numbers"),
        "step": _("A step on or back"),
        "strokes": _("Done: strokes taken") if doing and doing.strokes else _("Strokes taken"),
        "clip": _("Clipped"),
        "end": _("Give it up"),
        "reference": _("This is my reference reed") if reed.is_reference else good,
        "sheet": _("Move it to another measuring sheet"),
    }


@require_safe
def bench(request: MemberRequest, pk: int, part: str) -> HttpResponse:
    """One of the forms: as its fold takes it in, or without script on a page of its own."""
    reed = reed_for(request, pk)
    doing = _doing(reed) if part == "strokes" else None
    fold = next((one for one in folds_of(reed, request.member, doing) if one.part == part), None)
    if fold is None:
        raise Http404
    template = fold.template if request.htmx else "reeds/timeline/bench.html"
    return render(request, template, {"reed": reed, "fold": fold, **FORMS[part](request.member, reed, doing)})


def _doing(reed: Reed) -> Doing:
    """The step that the checks propose as the reed stands."""
    return experiment_in(findings_of(reed, answers=answers_of(reed)), Style(reed.version.pattern.style))


def then(reed: Reed) -> str:
    """Return what is to be played and looked at after it."""
    doing = _doing(reed)
    return _(doing.then) if doing else ""
