"""Findings: what is a fault, what asks again, the order of need, and storage."""

import json

import pytest

from reeds.checks.findings import Finding, Outcome, in_order, need_of


def one(outcome, **rest):
    return Finding(check="limits", outcome=outcome, **rest)


@pytest.mark.parametrize(
    ("outcome", "fault", "attention"),
    [
        (Outcome.WITHIN, False, False),
        (Outcome.BELOW, True, True),
        (Outcome.ABOVE, True, True),
        (Outcome.DIFFERS, True, True),
        (Outcome.TOO_CLOSE, False, True),
        (Outcome.CONTRADICTION, False, True),
        (Outcome.MISSING, False, True),
        (Outcome.UNDECIDABLE, False, False),
        (Outcome.NOTED, False, False),
    ],
)
def test_each_outcome_says_whether_it_is_a_fault_and_asks_for_attention(outcome, fault, attention):
    assert (one(outcome).is_fault, one(outcome).needs_attention) == (fault, attention)
    assert (one(outcome).need > 0) == attention
    assert outcome.label


def test_what_needs_most_comes_first_and_equals_stay_as_they_came():
    outcomes = [Outcome.WITHIN, Outcome.MISSING, Outcome.ABOVE, Outcome.CONTRADICTION, Outcome.BELOW]
    found = [found.outcome for found in in_order(one(outcome) for outcome in outcomes)]
    assert found == [Outcome.ABOVE, Outcome.BELOW, Outcome.CONTRADICTION, Outcome.MISSING, Outcome.WITHIN]
    assert need_of(one(outcome) for outcome in outcomes) == 12
    assert need_of([]) == 0


def test_a_finding_comes_back_from_storage_as_it_was_shown():
    found = one(
        Outcome.CONTRADICTION, quantity="tie_length", also=("staple_length",), value=72.0, u=0.2, low=None,
        params={"made": 72.0, "unit": "mm"}, next_step="x", waits=True,
    )  # fmt: skip
    assert Finding.from_json(json.loads(json.dumps(found.as_json()))) == found


def test_a_close_call_that_was_stored_with_its_chance_is_told_without_it():
    chance = "%(name)s is too close to a limit to call: it is within with a probability of %(percent)s %%."
    told = Finding.from_json({"check": "limits", "outcome": "too_close", "message": chance})
    assert told.message == "%(name)s is too close to a limit to call."


def test_a_finding_of_another_version_is_still_read():
    assert Finding.from_json({"check": "limits", "outcome": "within", "colour": "amber"}) == one(
        Outcome.WITHIN
    )
    with pytest.raises(KeyError):
        Finding.from_json({"outcome": "within"})
    with pytest.raises(ValueError, match="green"):
        Finding.from_json({"check": "limits", "outcome": "green"})
