"""Benjamini and Hochberg, JRSS B 57 (1995) 289-300, section 4: 15 p values of a trial, quoted from memory."""

from __future__ import annotations

import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.term.lookback.chance import said_by

PRINTED = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459]
PRINTED += [0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000]


def test_of_the_fifteen_the_first_four_are_rejected_as_printed():
    assert said_by(PRINTED, 0.05) == [True] * 4 + [False] * 11


def test_bonferroni_would_reject_only_three_of_them():
    assert sum(p <= 0.05 / 15 for p in PRINTED) == 3


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40), st.sampled_from([0.01, 0.05, 0.2]))
def test_it_answers_as_statsmodels_does(chances, false_in):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from statsmodels.stats.multitest import multipletests
    theirs = multipletests(chances, alpha=false_in, method="fdr_bh")[0]
    assert said_by(chances, false_in) == pytest.approx(list(theirs))


def test_no_question_has_no_answer():
    assert said_by([]) == []
