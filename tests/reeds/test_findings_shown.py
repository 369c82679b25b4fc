"""Findings as a page shows them: what is too close to call is told together."""

from dataclasses import replace

import pytest
from django.template.loader import render_to_string

from reeds.checks.findings import Finding, Outcome
from reeds.templatetags.findings import doubtful, in_brief, without
from tests.folded import parted


def close(key):
    return Finding(
        check="limits", outcome=Outcome.TOO_CLOSE, quantity=key, message="%(n)s lies near.", params={"n": key}
    )


FAULT = Finding(check="limits", outcome=Outcome.ABOVE, quantity="gouge", message="Too thick.")


def test_several_too_close_to_call_are_one_thing_to_do():
    page = render_to_string("reeds/reed/_findings.html", {"findings": [close("a"), FAULT, close("b")]})
    assert page.count('class="finding ') == 2
    assert "2 numbers too close to call" in page
    assert page.index("Too thick.") < page.index("A lies near.") < page.index("B lies near.")


def test_one_alone_stands_by_itself():
    page = render_to_string("reeds/reed/_findings.html", {"findings": [close("a"), FAULT]})
    assert "numbers too close" not in page
    assert page.count('class="finding ') == 2


@pytest.mark.parametrize("keys", [["gouge"], ["gouge", "tie_length"]])
def test_how_near_the_call_was_stands_folded_and_never_reads_as_decided(keys):
    found = [replace(close(key), probability=0.9499) for key in keys]
    open_to_all, folded = parted(render_to_string("reeds/reed/_findings.html", {"findings": found}))
    assert "%" not in open_to_all
    assert folded.count("94 %") == len(keys)
    assert "How this is reckoned" in folded


def test_nothing_is_lost_between_the_two():
    found = [close("a"), FAULT, close("b")]
    assert [*without(found, doubtful(found)), *doubtful(found)] == [FAULT, found[0], found[2]]


@pytest.mark.parametrize(
    ("low", "high", "brief"),
    [
        (71.0, 73.0, "above: the sheet has 71 to 73 mm"),
        (None, 0.55, "above: the sheet has at most 0.55 mm"),
        (0.5, None, "above: the sheet has at least 0.5 mm"),
        (None, None, "It leans."),
    ],
)
def test_under_a_number_stands_the_outcome_with_its_limits_or_the_sentence(low, high, brief):
    given = {"low": low, "high": high, "message": "It leans.", "params": {"unit": "mm"}}
    assert in_brief(Finding(check="x", outcome=Outcome.ABOVE, quantity="tie_length", **given)) == brief


def test_that_a_way_of_measuring_cannot_decide_is_said_without_limits():
    finding = Finding(check="x", outcome=Outcome.UNDECIDABLE, low=0.5, high=0.6, params={"unit": "mm"})
    assert in_brief(finding) == str(Outcome.UNDECIDABLE.label)
