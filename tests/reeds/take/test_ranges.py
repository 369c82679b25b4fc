"""Ranges of bytes as RFC 9110, 14.1.2 and 14.2 give them."""

import pytest

from reeds.take.ranges import NoSuchPart, part_asked


@pytest.mark.parametrize(
    ("header", "part"),
    [
        ("bytes=0-1", (0, 1)),
        ("bytes=0-499", (0, 499)),
        ("bytes=9500-", (9500, 9999)),
        ("bytes=-500", (9500, 9999)),
        ("bytes=0-99999", (0, 9999)),
        ("bytes=-20000", (0, 9999)),
        ("", None),
        ("bytes=0-0,-1", None),
        ("bytes=5-2", None),
        ("items=0-5", None),
        ("bytes=-", None),
        ("bytes=٣-٤", None),
        ("bytes=" + "9" * 5000 + "-", None),
    ],
)
def test_a_part_is_read_and_what_is_none_gives_the_whole(header, part):
    assert part_asked(header, 10_000) == part


@pytest.mark.parametrize("header", ["bytes=10000-", "bytes=10000-10001", "bytes=-0"])
def test_a_part_behind_the_end_is_refused(header):
    with pytest.raises(NoSuchPart):
        part_asked(header, 10_000)
