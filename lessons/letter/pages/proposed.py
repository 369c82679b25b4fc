"""What is proposed for a letter from the term's rows; a teacher picks of it, changes it or leaves it out."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property
from statistics import fmean

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lessons.lesson.models import Lesson, SetWork
from lessons.letter.models import MAX_LINE, MOST
from lessons.letter.written import Candidate
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic
from lessons.term.lookback.sentences import Said
from lessons.term.rows import TermRows
from lessons.term.wording import in_words
from reeds.numbers.words import gettext_noop
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.models.photo import View
from reeds.reed.models.playing import Rating
from reeds.reed.models.reed import Reed
from studio.models import Member

# as a finding that comes back is told under a heading that says so
COMES_BACK = gettext_noop("%(what)s, on %(count)s of the %(n)s reeds sent")


class Proposals:
    """What the term has to say of one student, asked by a teacher."""

    def __init__(self, rows: TermRows, said: Said, student: Member) -> None:
        self.said, self.asking, self.student = said, rows.asking, student
        self.start, self.end = rows.term.span

    @cached_property
    def sentences(self) -> list[str]:
        """What may be said, changes first; then what asks the teacher something, and what cannot be said."""
        others = [one for one in self.said.sentences if one.topic is Topic.OFFSET]
        return [in_words(one.text) for one in (*self._told, *others, *self.said.unsaid)]

    @property
    def _told(self) -> list[Sentence]:
        """What is said to anybody: what changed and what was counted."""
        told = [one for one in self.said.sentences if one.manner in (Manner.CHANGE, Manner.FACT)]
        return sorted(told, key=lambda one: one.manner is not Manner.CHANGE)

    @property
    def comes_back(self) -> list[str]:
        """Findings that are there again and again, the most frequent first."""
        states = [one for one in self.said.sentences if one.manner is Manner.STATE]
        there = [one.text for one in states if one.topic is Topic.FINDING]
        return [in_words(Phrase(COMES_BACK, text.params)) for text in there]

    @cached_property
    def agreed(self) -> list[str]:
        """What was agreed in the term's lessons and the work that was set, the newest first."""
        lessons = Lesson.objects.visible_to(self.asking).filter(present=self.student).exclude(agreed="")
        lessons = lessons.filter(at__gte=self.start, at__lt=self.end).order_by("-at")
        work = SetWork.objects.visible_to(self.asking).filter(student=self.student)
        work = work.filter(set_at__gte=self.start, set_at__lt=self.end)
        rows = [(one.at, one.agreed) for one in lessons] + [(one.set_at, _work(one)) for one in work]
        newest: dict[str, dt.datetime] = {}
        for at, words in sorted(rows, key=lambda row: row[0], reverse=True):
            newest.setdefault(words, at)  # agreed again and again, it is told once
        return [_dated(at, words) for words, at in newest.items()]

    def lines(self, kind: str) -> list[str]:
        """Return what is proposed of one kind, each within what a line holds."""
        return list(dict.fromkeys(_short(line) for line in getattr(self, kind)))

    def picked(self, kind: str) -> list[str]:
        """Return those of them that are ticked on a new page."""
        most = min(MOST[kind], len(self._told)) if kind == "sentences" else MOST[kind]
        return self.lines(kind)[:most]

    # --- pictures ---

    @cached_property
    def candidates(self) -> list[Candidate]:
        """One measured photo a reed, in the order of making; the first, best and latest are proposed."""
        if not self.student.may_send_pictures:
            return []
        rows = list(self._newest_a_reed())
        ranks = self._ranks([row.photo.reed for row in rows])
        return [
            Candidate(row, _caption(row, ranks.get(row.photo.reed_id, "")), row.photo.reed_id in ranks)
            for row in rows
        ]

    def _newest_a_reed(self) -> Iterable[PhotoMeasuring]:
        rows = PhotoMeasuring.objects.visible_to(self.asking).measured()
        rows = rows.filter(photo__reed__owner=self.student, camera__isnull=False)
        rows = rows.filter(landmarks__has_keys=["staple_foot", "tip"]).exclude(photo__view=View.OPENING)
        # what was sent: a photo that is still in a draft is the student's alone
        sent = {"photo__submissions__sent_at__gte": self.start, "photo__submissions__sent_at__lt": self.end}
        newest = {}
        for row in rows.filter(**sent).select_related("photo__reed").order_by("photo__sent_at").distinct():
            newest[row.photo.reed_id] = row
        return sorted(newest.values(), key=lambda row: (row.photo.reed.made_at, row.photo.reed.number))

    def _ranks(self, reeds: list[Reed]) -> dict[int, str]:
        """Return why a reed is proposed, of those that are."""
        if not reeds:
            return {}
        ranks = {reeds[-1].pk: _("the latest")} | {reeds[0].pk: _("the first")}
        spoken = self._spoke()
        rated = [reed for reed in reeds if reed.pk in spoken and reed.pk not in ranks]
        if rated:
            best = max(rated, key=lambda reed: (spoken[reed.pk], reed.made_at))
            ranks[best.pk] = _("it spoke best")
        return ranks

    def _spoke(self) -> dict[int, float]:
        """Return how each reed spoke in its newest playing test of the term, 1 to 5 on average."""
        rows = Rating.objects.visible_to(self.asking).filter(test__reed__owner=self.student)
        rows = rows.filter(test__at__gte=self.start, test__at__lt=self.end, speaks__isnull=False)
        by_test: dict[tuple[int, int], list[int]] = defaultdict(list)
        for reed, test, speaks in rows.order_by("test__at").values_list("test__reed", "test", "speaks"):
            by_test[reed, test].append(speaks or 0)
        return {reed: fmean(steps) for (reed, _test), steps in by_test.items()}


def _caption(row: PhotoMeasuring, rank: str) -> str:
    reed = row.photo.reed
    told = {"n": reed.number, "day": date_format(row.photo.sent_at, "DAY"), "rank": rank}
    return (_("Reed %(n)d, %(day)s: %(rank)s") if rank else _("Reed %(n)d, %(day)s")) % told


def _work(work: SetWork) -> str:
    if work.done_at:
        return _("%(words)s (done)") % {"words": work.words}
    return work.words


def _dated(at: dt.datetime, words: str) -> str:
    return _("%(day)s: %(words)s") % {"day": date_format(at, "DAY"), "words": words}


def _short(line: str) -> str:
    line = " ".join(line.split())
    return line if len(line) <= MAX_LINE else f"{line[: MAX_LINE - 1]}…"
