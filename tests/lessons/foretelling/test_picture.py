"""Whether chances held, as places for a picture."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.foretelling.chances.picture import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, picture

shares = st.floats(0.0, 1.0)


@given(st.lists(st.tuples(shares, st.tuples(shares, shares, shares).map(sorted))))
def test_every_spot_with_its_interval_lies_inside_the_frame(rows):
    groups = [(foretold, played, low, high) for foretold, (low, played, high) in rows]
    for spot in picture(groups).spots:
        assert LEFT <= spot.x <= WIDTH - RIGHT
        assert TOP <= spot.top <= spot.y <= spot.bottom <= HEIGHT - BOTTOM


def test_a_chance_that_holds_lies_on_the_line():
    it = picture([(0.25, 0.25, 0.1, 0.4), (0.75, 0.75, 0.6, 0.9)])
    x1, y1, x2, y2 = it.even
    for spot in it.spots:
        assert (spot.y - y1) / (spot.x - x1) == pytest.approx((y2 - y1) / (x2 - x1), abs=1e-3)


def test_what_is_no_share_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        picture([(1.2, 0.5, 0.4, 0.6)])
