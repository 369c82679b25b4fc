"""Ask of this term: the questions that were asked, each with its answer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from lessons.comparison.inference.several import holm
from lessons.comparison.models import AskedQuestion
from lessons.comparison.pages.factors import factors
from lessons.comparison.pages.gathered import Asked, asked
from lessons.comparison.pages.kinds import Factor, Outcome
from lessons.comparison.pages.outcomes import outcomes
from lessons.comparison.pages.picture import Picture, picture
from lessons.comparison.pages.saying import Said, said
from lessons.comparison.pages.table import CellRow, cell_table
from lessons.term.rows import TermRows
from reeds.reed.models.cane import CaneLot
from studio.models import Member, Term


@dataclass(frozen=True)
class Answered:
    """A question with its answer; `it` is None where the term no longer knows one of the two."""

    question: AskedQuestion
    it: Asked | None
    p: float
    said: Said
    heads: list[str]
    rows: list[CellRow]

    @property
    def lead(self) -> str:
        return self.said.lead

    @property
    def effects(self) -> list[str]:
        return self.said.effects

    @property
    def besides(self) -> list[str]:
        return self.said.besides

    @property
    def picture(self) -> Picture | None:
        return picture(self.it) if self.it else None


class AskPage:
    """What may be asked of a term, and what was."""

    def __init__(self, term: Term, asking: Member) -> None:
        self.term, self.asking = term, asking
        self.rows = TermRows(term, asking)

    @cached_property
    def outcomes(self) -> dict[str, Outcome]:
        return outcomes(self.rows)

    @cached_property
    def factors(self) -> dict[str, Factor]:
        return factors(self.rows)

    @property
    def lot_labels(self) -> list[str]:
        """The cane that reeds of the term are made of."""
        return sorted({reed.lot_label for reed in self.rows.reeds if reed.lot_label})

    @property
    def made(self) -> int:
        return len(self.rows.reeds)

    @cached_property
    def answers(self) -> list[Answered]:
        """Every question that was asked of the term, the last first; each p counts them all."""
        rows = AskedQuestion.objects.visible_to(self.asking).filter(term=self.term)
        questions = list(rows.select_related("by__person"))
        compared = [self._asked(question) for question in questions]
        ps = holm([it.compared.p if it else 1.0 for it in compared])
        answered = [
            self._answered(question, it, p, len(questions))
            for question, it, p in zip(questions, compared, ps, strict=True)
        ]
        return answered[::-1]

    def _asked(self, question: AskedQuestion) -> Asked | None:
        outcome, factor = self.outcomes.get(question.outcome), self.factors.get(question.factor)
        return asked(self.rows, outcome, factor, question.lot) if outcome and factor else None

    def _answered(self, question: AskedQuestion, it: Asked | None, p: float, n: int) -> Answered:
        if it is None:
            gone = _("Nothing to compare any more: no reed of the term has what was asked about.")
            return Answered(question, None, 1.0, Said(gone, [], []), [], [])
        heads, rows = cell_table(it, self.names, self.lots)
        return Answered(question, it, p, said(it, p, n), heads, rows)

    @cached_property
    def names(self) -> dict[int, str]:
        """The studio's people, also those who left."""
        rows = Member.objects.visible_to(self.asking).values_list("pk", "person__name")
        return dict(rows)

    @cached_property
    def lots(self) -> dict[int, str]:
        return dict(CaneLot.objects.visible_to(self.asking).values_list("pk", "label"))
