"""How numbers and rests are written on a page."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import translation

from reeds.fields import TypedNumber
from reeds.numbers.measured import Measured
from reeds.templatetags.quantities import lasting, short, signed, with_doubt


@pytest.mark.parametrize(
    ("span", "said"),
    [
        ({"minutes": 59}, "0 hours"),
        ({"hours": 1}, "1 hour"),
        ({"hours": 47, "minutes": 59}, "47 hours"),
        ({"hours": 48}, "2 days"),
        ({"days": 27, "hours": 23}, "27 days"),
        ({"days": 28}, "4 weeks"),
        ({"days": 100}, "14 weeks"),
    ],
)
def test_rest_is_told_in_hours_days_and_weeks(span, said):
    assert lasting(dt.timedelta(**span)) == said


@pytest.mark.parametrize(("value", "said"), [(72.0, "72"), (0.57, "0.57"), (-0.5, "−0.5"), (None, "–")])
def test_limit_is_written_without_a_decimal_that_says_nothing(value, said):
    assert short(value) == said


@pytest.mark.parametrize(("value", "said"), [(1.0, "+1"), (-0.5, "−0.5"), (0.25, "+0.25")])
def test_offset_is_written_with_its_sign(value, said):
    assert signed(value) == said


def test_number_shown_in_a_form_is_read_back_in_a_language_with_commas():
    field = TypedNumber(name="gouge", unit="mm", low=0.3, high=0.9)
    with translation.override("de"):
        shown = field.prepare_value(0.57)
        assert shown == "0,57"
        assert field.clean(shown) == 0.57


@pytest.mark.parametrize(
    ("value", "u", "key", "written"),
    [
        (72.46, 0.083, "tie_length", "72.46 ± 0.08 mm"),
        (72.5, 0.2, "tie_length", "72.5 ± 0.2 mm"),
        (72.0, 0.097, "tie_length", "72.0 ± 0.1 mm"),
        (5.0, 3.0, "a4_cents", "5 ± 3 cents"),
        (-3.24, 0.3, "a4_cents", "−3.2 ± 0.3 cents"),
        (45.0, 0.0, "staple_length", "45.0 mm"),
        (118.0, 14.0, "tie_length", "118 ± 14 mm"),
        (75.018, 0.131, "tie_length", "75.02 ± 0.13 mm"),
        (0.5712, 0.01, "gouge", "0.57 ± 0.01 mm"),
        (-0.04, 0.3, "thread_past_staple", "0.0 ± 0.3 mm"),
    ],
)
def test_a_number_is_written_as_finely_as_its_doubt_and_no_finer(value, u, key, written):
    assert with_doubt(Measured(value, u), key) == written
