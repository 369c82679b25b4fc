"""A quantity and a thing seen that a teacher adds on the page, and how they do it."""

from __future__ import annotations

from tests.reeds.form import fields_of

ANGLE = {
    "name": "angle of the corners",
    "stage": "finishing",
    "unit": "°",
    "low": "0",
    "high": "90",
    "method": "eye",
    "u": "2,5",
    "help": "Between edge and side, seen from above.",
}
CORK = {"name": "the cork sits", "stage": "tied", "labels": "tight\nloose\n", "help": ""}


def add(desk, teacher, kind="number", **changed):
    given = (ANGLE if kind == "number" else CORK) | changed
    return desk.post(teacher.to(f"reeds:own_{kind}"), given)


def change(desk, teacher, own, **changed):
    fields = fields_of(desk.get(teacher.to("reeds:own_change", own.pk)), "")
    wanted = ANGLE if own.is_number else CORK
    kept = {name: fields.get(name, "") for name in wanted}
    return desk.post(teacher.to("reeds:own_change", own.pk), kept | changed)
