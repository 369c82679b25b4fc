"""What a studio's reeds foretell, as its page tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from django.utils.functional import Promise

from lessons.foretelling.chances.foretelling import LEAST_OUTCOMES, Chance, Foretelling, Verdict, foretelling
from lessons.foretelling.chances.judged import LEAST_STUDENTS, Group
from lessons.foretelling.chances.picture import Picture, picture
from lessons.foretelling.chances.rows import Blank
from lessons.foretelling.history import History
from lessons.foretelling.words import ABOUTS, pull_in_words
from lessons.term.lookback.rates import Share, share
from reeds.reed.models.reed import Reed
from studio.models import Member


@dataclass(frozen=True)
class Foretold:
    """One reed with its chance, and in words what pulls at it and what nobody noted."""

    chance: Chance
    reed: Reed

    @property
    def ups(self) -> list[str]:
        return [pull_in_words(one.about, self.chance.blank) for one in self.chance.pulls if one.log_odds > 0]

    @property
    def downs(self) -> list[str]:
        return [pull_in_words(one.about, self.chance.blank) for one in self.chance.pulls if one.log_odds < 0]

    @property
    def unknown(self) -> list[str | Promise]:
        return [ABOUTS[about] for about in self.chance.unknown]


@dataclass(frozen=True)
class Held:
    """A group of reeds with like chances: what was foretold, and what share came to play."""

    foretold: float
    played: Share


@dataclass(frozen=True)
class Moment:
    """What is foretold at one moment of a reed's life, for the member who asks."""

    told: Foretelling
    rows: list[Foretold]

    @property
    def played(self) -> Share:
        return share(self.told.played, self.told.n)

    @property
    def missing(self) -> int:
        """How many outcomes are missing until anything is said."""
        return max(LEAST_OUTCOMES - self.told.n, 0)

    @property
    def is_better(self) -> bool:
        return self.told.verdict is Verdict.BETTER

    @property
    def is_unseen(self) -> bool:
        return self.told.verdict is Verdict.UNSEEN

    @property
    def abouts(self) -> list[str | Promise]:
        return [ABOUTS[about] for about in self.told.abouts]

    @property
    def held(self) -> list[Held]:
        groups = self.told.judged.groups if self.told.judged else ()
        return [Held(group.foretold, _share(group)) for group in groups]

    @property
    def picture(self) -> Picture:
        rows = [(one.foretold, one.played.value or 0.0, one.played.low, one.played.high) for one in self.held]
        return picture(rows)


class ForetellingPage:
    """The blanks at rest and the reeds tried once that this member may see, each with its chance."""

    least_outcomes, least_students = LEAST_OUTCOMES, LEAST_STUDENTS

    def __init__(self, member: Member) -> None:
        self.member = member
        self._history = History(member.studio_id)

    @property
    def given_up_before(self) -> int:
        return self._history.given_up_before

    @cached_property
    def blanks(self) -> Moment:
        """Before scraping."""
        return self._moment(self._history.blanks, self._history.resting, tried=False)

    @cached_property
    def tried(self) -> Moment:
        """After the first playing test, before the reed plays."""
        return self._moment(self._history.tried, self._history.on_the_way, tried=True)

    def _moment(self, known: Sequence[Blank], coming: Sequence[Blank], *, tried: bool) -> Moment:
        seen = Reed.objects.visible_to(self.member).select_related("owner__person")
        reeds = seen.in_bulk([blank.reed for blank in coming])
        told = foretelling(known, [blank for blank in coming if blank.reed in reeds], tried)
        return Moment(told, [Foretold(chance, reeds[chance.blank.reed]) for chance in told.chances])


def _share(group: Group) -> Share:
    return share(group.played, group.n)
