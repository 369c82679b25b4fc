"""Addresses whose pattern is looked up once are those that Django finds."""

import pytest
from django.urls import NoReverseMatch, reverse, set_script_prefix

from studio.addressed import address_of


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("lessons:desk", (1,)),
        ("reeds:reed", (12, 999)),
        ("lessons:photo_remove", (12, 3, 0)),
        ("reeds:photo", (3, 4, "thumb")),
        ("lessons:desk", ("7",)),
        ("reeds:photo", ("3", 4, "thumb-5")),
        ("start", ()),
    ],
)
def test_an_address_is_the_one_django_finds(name, args):
    assert [address_of(name, *args) for _ in range(2)] == [reverse(name, args=args)] * 2


@pytest.mark.parametrize("args", [(), (None,), (-1,), (1, 2)])
def test_what_is_no_address_is_refused_as_django_refuses_it(args):
    with pytest.raises(NoReverseMatch):
        address_of("lessons:desk", *args)


def test_below_a_prefix_it_begins_with_that():
    before = address_of("lessons:desk", 1)
    try:
        set_script_prefix("/100% reeds/")
        assert (
            address_of("lessons:desk", 1) == reverse("lessons:desk", args=[1]) == f"/100%25%20reeds{before}"
        )
    finally:
        set_script_prefix("/")
    assert address_of("lessons:desk", 1) == before
