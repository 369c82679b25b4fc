"""Days in three styles: what comes first is decided for a whole column, from evidence, or asked."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.log.table.days import DayQuestion, Order, order_of, read_when

MARCH_4 = dt.date(2026, 3, 4)


@pytest.mark.parametrize(
    "typed", ["2026-03-04", "2026-3-4", "4.3.2026", "04.03.2026", "4. 3. 2026", "4.3.26", " 2026-03-04 "]
)
def test_what_can_be_read_one_way_only_is_read(typed):
    assert read_when(typed) == MARCH_4


def test_a_time_of_day_and_a_zone_are_kept():
    assert read_when("2026-03-04T14:30:00+01:00") == dt.datetime.fromisoformat("2026-03-04T14:30:00+01:00")
    assert read_when("2026-03-04 14:30") == dt.datetime.fromisoformat("2026-03-04T14:30")


@pytest.mark.parametrize(
    ("column", "order"),
    [
        (["3/4/2026", "13/4/2026"], Order.DAY_FIRST),
        (["3/4/2026", "4/13/2026"], Order.MONTH_FIRST),
        (["3/4/2026", "12/12/2026"], Order.OPEN),
        (["13/4/2026", "4/13/2026"], Order.OPEN),
        (["2026-03-04", "4.13.2026"], Order.OPEN),
        ([], Order.OPEN),
    ],
)
def test_one_day_over_twelve_decides_for_the_whole_column(column, order):
    assert order_of(column) is order


def test_what_can_be_read_two_ways_is_asked():
    with pytest.raises(DayQuestion, match="can be read two ways"):
        read_when("3/4/2026")
    assert read_when("3/4/2026", Order.MONTH_FIRST) == MARCH_4
    assert read_when("4/3/2026", Order.DAY_FIRST) == MARCH_4
    assert read_when("4-3-2026", Order.DAY_FIRST) == MARCH_4


@pytest.mark.parametrize(
    "typed", ["31.2.2026", "2026-02-30", "0.3.2026", "13/13/2026", "1.1.1901", "2026-03-04T25:00", "1.1.0001"]
)
def test_a_day_that_is_none_is_refused(typed):
    with pytest.raises(DayQuestion):
        read_when(typed, Order.DAY_FIRST)


@pytest.mark.parametrize("typed", ["46085", "4 March", "yesterday", "2026", "4.3.", "=TODAY()", "٤.٣.٢٠٢٦x"])
def test_what_is_no_day_says_how_one_is_written(typed):
    with pytest.raises(DayQuestion, match=r"is no day\. Write it like 2026-03-04"):
        read_when(typed)


STYLES = {
    "iso": "{0.year}-{0.month:02}-{0.day:02}",
    "dots": "{0.day}.{0.month}.{0.year}",
    "day first": "{0.day}/{0.month}/{0.year}",
    "month first": "{0.month}/{0.day}/{0.year}",
}
DAYS = st.lists(st.dates(dt.date(1950, 1, 1), dt.date(2099, 12, 31)), min_size=1, max_size=20)


@given(DAYS, st.sampled_from(sorted(STYLES)))
def test_a_column_of_days_comes_back_or_is_asked_and_never_comes_back_wrong(days, style):
    typed = [STYLES[style].format(day) for day in days]
    order = order_of(typed)
    if "first" in style and order is Order.OPEN:
        assert all(day.day <= 12 for day in days)
        return
    assert [read_when(one, order) for one in typed] == days
