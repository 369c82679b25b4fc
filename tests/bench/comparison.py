"""Prints how long the answers to a term's questions take: 12 questions of 1,000 reeds, and of twice as many.

`python -m tests.bench.comparison`: in a database of its own; medians of 5, by the processor's clock.
Bounds: 2 s with fetching the rows, 12 queries; twice the reeds 2.4 times as long.
"""

import sys

from tests.bench.term import in_a_database_of_its_own, median_times, queries_of, told

SECONDS, QUERIES, TWICE = 2.0, 12, 2.4
OUTCOMES, FACTORS = 4, 3


def answers(big):
    """Return every question asked of the term with its answer and its picture, nothing kept from before."""
    from lessons.comparison.pages.ask import AskPage

    return [(one, one.picture) for one in AskPage(big.term, big.teacher).answers]


def asked_of(big):
    """Ask twelve questions of the term."""
    from lessons.comparison.actions import ask
    from lessons.comparison.pages.ask import AskPage

    page = AskPage(big.term, big.teacher)
    for outcome in list(page.outcomes)[:OUTCOMES]:
        ask(big.term, big.teacher, outcome, list(page.factors)[:FACTORS])
    return big


def measured():
    from tests.big_term import big_term

    one = asked_of(big_term())
    two = asked_of(big_term(reeds_each=50))
    once, twice = median_times(lambda: answers(one), lambda: answers(two), rounds=5)
    sys.stdout.write(f"{len(answers(one))} questions\n")
    missed = told("seconds", once, SECONDS) + told("queries", queries_of(lambda: answers(one)), QUERIES, 0)
    return missed + told("twice the reeds", twice / once, TWICE)


if __name__ == "__main__":
    sys.exit(int(in_a_database_of_its_own(measured) > 0))
