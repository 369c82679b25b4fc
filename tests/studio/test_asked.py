"""Whole numbers in addresses and forms: what is none is none, however long or odd it is."""

import pytest
from django.test import RequestFactory

from studio.asked import row_numbers, tries_in


@pytest.mark.parametrize(
    ("said", "tries"), [("", 1), ("3", 3), ("²", 1), ("-1", 1), ("x", 1), ("12345", 123), ("9" * 5000, 999)]
)
def test_how_often_a_page_asked(said, tries):
    assert tries_in(RequestFactory().get("/", {"tries": said})) == tries


def test_what_is_no_number_of_a_row_is_none():
    assert row_numbers(["7", "0", "²", "-3", "", "9" * 18, "9" * 19]) == [7, 0, 0, 0, 0, 10**18 - 1, 0]
