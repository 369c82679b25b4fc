"""Every figure of a term in few queries, however many reeds; how long it takes says tests/bench/term.py."""

import pytest

from tests.bench.term import QUERIES, figures, given
from tests.big_term import big_term

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("students", "reeds_each"), [(1, 1), (6, 9)])
def test_the_queries_do_not_grow(students, reeds_each, django_assert_max_num_queries):
    big = big_term(students, reeds_each)
    with django_assert_max_num_queries(QUERIES):
        told, of_each, said = figures(big)
    assert told["made"] == students * reeds_each
    assert len(of_each) > 6
    assert said or reeds_each == 1  # of one reed nothing may be said


def test_another_studio_changes_no_figure():
    one = big_term(4, 6)
    before = figures(one)
    big_term(3, 9, seed=2)
    assert figures(one) == before


def test_a_students_figures_are_of_their_own_reeds():
    from lessons.term.pages import TermFigures

    one = big_term(3, 5)
    for student in one.students:
        for asking in (one.teacher, student):
            it = TermFigures(one.term, asking, student)
            assert (it.made, it.came_to_play.students) == (5, 1)
            assert {row.student for row in it.rows.rated} == {student.pk}


def test_no_figure_is_forgotten():
    from lessons.term.pages import QuantityInTerm, TermFigures

    assert {"came_to_play", "lasting", "rated", "read_twice", "work", "quantities"} <= set(given(TermFigures))
    assert {"moving", "two_people", "two_tools"} <= set(given(QuantityInTerm))


def test_the_bench_tells_whether_a_bound_is_kept(capsys):
    from tests.bench.term import told

    assert told("twice", 2.3, 2.2)
    assert not told("twice", 2.1, 2.2)
    lines = capsys.readouterr().out.splitlines()
    assert lines == ["twice: 2.30 (bound 2.2): NOT MET", "twice: 2.10 (bound 2.2): met"]
