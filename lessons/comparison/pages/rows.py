"""What a comparison reads of a term's rows; lessons.term.rows.TermRows has it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Protocol

from lessons.term.lookback.rows import (
    FoundInTerm,
    LifeInTerm,
    NotedInTerm,
    RatedInTerm,
    ReadingInTerm,
    ReedInTerm,
)
from reeds.numbers.quantity import Known
from studio.models import Term


class Rows(Protocol):
    """The rows of one term."""

    term: Term

    @property
    def known(self) -> Known: ...
    @property
    def reeds(self) -> Sequence[ReedInTerm]: ...
    @property
    def lives(self) -> Sequence[LifeInTerm]: ...
    @property
    def rated(self) -> Sequence[RatedInTerm]: ...
    @property
    def found(self) -> Sequence[FoundInTerm]: ...
    @property
    def sent(self) -> Collection[int]: ...
    @property
    def readings(self) -> Mapping[str, Sequence[ReadingInTerm]]: ...
    @property
    def noted(self) -> Mapping[str, Sequence[NotedInTerm]]: ...
