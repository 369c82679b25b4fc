"""Planned comparisons as they are lived: blanks tied, scraped, played or given up on days that are told."""

import datetime as dt

from django.utils import timezone

from lessons.comparison.actions import allot
from reeds.numbers.words import Stage
from reeds.reed.models.reed import EventKind, Reed, ReedEvent
from tests import factories as make

NOON = dt.time(12)


def days_ago(days):
    return timezone.now() - dt.timedelta(days=days)


def blank(student, *, tied=0.2, **given):
    """A blank of the student's, tied so many days ago."""
    reed = make.ReedFactory(owner=student, stage=Stage.TIED, stage_since=days_ago(tied), **given)
    Reed.objects.filter(pk=reed.pk).update(made_at=days_ago(tied + 0.1))
    step(reed, Stage.TIED, tied)
    return Reed.objects.get(pk=reed.pk)


def step(reed, stage, ago, kind=EventKind.STAGE):
    ReedEvent.objects.create(studio=reed.studio, reed=reed, kind=kind, to_stage=stage, at=days_ago(ago))
    if stage:
        Reed.objects.filter(pk=reed.pk).update(stage=stage, stage_since=days_ago(ago))


def lived(plan, student, plays, *, began=80.0, early=()):
    """Fill a student's places: each blank rests as drawn and then plays or is given up.

    plays       whether one of this way and place plays: a function of arm and place
    early       places whose reeds were scraped after two days, whatever was drawn
    """
    reeds = []
    for _place in range(plan.places.filter(student=student).count()):
        reed = blank(student, tied=0.1)
        taken = allot(plan, reed)
        rested = 2.0 if taken.place in early else plan.amount(taken.arm)
        ReedEvent.objects.filter(reed=reed).update(at=days_ago(began))
        Reed.objects.filter(pk=reed.pk).update(made_at=days_ago(began))
        step(reed, Stage.SCRAPED, began - rested)
        if plays(taken.arm, taken.place):
            step(reed, Stage.PLAYING, began - rested - 1)
        else:
            step(reed, Stage.GIVEN_UP, began - rested - 1, EventKind.GIVEN_UP)
        reeds.append(reed)
    return reeds
