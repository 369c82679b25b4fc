"""Shapes as pieces of a path: one each, told apart, at their places."""

from __future__ import annotations

import re

import pytest

from lessons.term.charts import shapes

PLACES = [(42.0, 10.5), (312.0, 126.0)]


@pytest.mark.parametrize("shape", [shapes.dots, shapes.diamonds, shapes.up, shapes.down])
def test_a_shape_stands_at_each_place(shape):
    path = shape(PLACES)
    assert re.findall(r"M([\d.]+) ([\d.]+)", path) == [("42.0", "10.5"), ("312.0", "126.0")]
    assert path.count("z") == 2
    assert shape([]) == ""


def test_no_two_shapes_are_alike():
    drawn = {shape(PLACES) for shape in (shapes.dots, shapes.diamonds, shapes.up, shapes.down)}
    assert len(drawn) == 4


def test_a_bar_runs_from_top_to_bottom():
    assert shapes.bars([(50.0, 10.0, 20.0)]) == "M50.0 10.0V20.0"
