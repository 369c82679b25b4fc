"""Lots of cane: adding, changing, marking used up."""

from __future__ import annotations

import datetime as dt

import pytest

from reeds.reed.models.cane import CaneLot
from tests import factories as make
from tests.reeds.form import fields_of


def test_student_adds_a_lot_with_commas(student, as_member):
    client = as_member(student)
    given = {"label": "bag of May", "tube_diameter": "10,5", "gouge": "0.57", "bought_on": "2026-05-02"}
    assert client.post(student.to("reeds:cane_add"), given).status_code == 302
    lot = CaneLot.objects.get()
    assert (lot.owner, lot.studio, lot.tube_diameter, lot.gouge) == (student, student.studio, 10.5, 0.57)
    page = client.get(student.to("reeds:cane")).content.decode()
    assert "bag of May" in page
    assert "10.5 mm" in page


def tomorrow() -> str:
    return (make.today() + dt.timedelta(days=2)).isoformat()


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("bought_on", tomorrow(), "has not come yet"),
        ("finished_on", tomorrow(), "has not come yet"),
        ("finished_on", "2020-01-01", "before it was bought"),
        ("gouge", "57", "Did you mean 0.57"),
        ("tube_diameter", "0", "is more than zero"),
        ("label", "", "required"),
    ],
)
def test_what_cannot_be_is_said_and_the_rest_stays(student, as_member, field, typed, sentence):
    given = {"label": "bag of May", "bought_on": "2026-05-02", "note": "from the south side", field: typed}
    answer = as_member(student).post(student.to("reeds:cane_add"), given)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    assert "from the south side" in page
    assert fields_of(answer)[field] == typed
    assert not CaneLot.objects.exists()


def test_lot_is_changed_and_used_up_once(student, as_member):
    lot, client = make.CaneFactory(owner=student), as_member(student)
    address = student.to("reeds:cane_lot", lot.pk)
    client.post(address, fields_of(client.get(address)) | {"label": "another bag"})
    client.post(student.to("reeds:cane_finish", lot.pk))
    lot.refresh_from_db()
    assert lot.label == "another bag"
    assert lot.finished_on is not None
    CaneLot.objects.update(finished_on=dt.date(2026, 1, 1))
    client.post(student.to("reeds:cane_finish", lot.pk))
    lot.refresh_from_db()
    assert lot.finished_on == dt.date(2026, 1, 1)


def test_lot_used_up_is_not_offered_but_its_reeds_keep_it(student, as_member):
    lot = make.CaneFactory(owner=student, label="old bag", finished_on=dt.date(2026, 1, 1))
    reed, client = make.ReedFactory(owner=student, cane=lot), as_member(student)
    assert "old bag" not in client.get(student.to("reeds:make")).content.decode()
    assert "old bag" in client.get(student.to("reeds:made_of", reed.pk)).content.decode()


def test_list_asks_as_often_for_many_lots_as_for_two(
    student, teacher, as_member, django_assert_max_num_queries
):
    client, address = as_member(teacher), teacher.to("reeds:cane")
    for _n in range(2):
        make.CaneFactory(owner=student)
    with django_assert_max_num_queries(8) as few:
        client.get(address)
    for _n in range(10):
        make.ReedFactory(owner=student, cane=make.CaneFactory(owner=make.student(studio=teacher.studio)))
    with django_assert_max_num_queries(len(few)):
        page = client.get(address)
    assert page.content.decode().count("row-with-action") == 12


def test_fellow_student_and_stranger_find_no_lot(student, other_student, stranger, as_member):
    lot = make.CaneFactory(owner=student, label="bag of May")
    for member in (other_student, stranger):
        client = as_member(member)
        assert "bag of May" not in client.get(member.to("reeds:cane")).content.decode()
        assert client.get(member.to("reeds:cane_lot", lot.pk)).status_code == 404
        assert client.post(member.to("reeds:cane_finish", lot.pk)).status_code == 404
    lot.refresh_from_db()
    assert lot.finished_on is None


def test_wrong_methods_are_refused(student, as_member):
    lot, client = make.CaneFactory(owner=student), as_member(student)
    assert client.post(student.to("reeds:cane")).status_code == 405
    assert client.get(student.to("reeds:cane_finish", lot.pk)).status_code == 405
    assert client.delete(student.to("reeds:cane_lot", lot.pk)).status_code == 405
