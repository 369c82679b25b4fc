"""The list of reeds: whose, narrowed, found by the number on the cork."""

from __future__ import annotations

import pytest

from reeds.reed.models.reed import Reed
from tests import factories as make


def cork(number: int) -> str:
    return f'<span class="cork">{number}</span>'


def test_student_sees_their_own_reeds_and_a_teacher_all(student, other_student, teacher, as_member):
    make.ReedFactory(owner=student, number=71)
    make.ReedFactory(owner=other_student, number=72)
    page = as_member(student).get(student.to("reeds:reeds")).content.decode()
    assert cork(71) in page
    assert cork(72) not in page
    page = as_member(teacher).get(teacher.to("reeds:reeds")).content.decode()
    assert cork(71) in page
    assert cork(72) in page


def test_number_on_the_cork_finds_the_reed(student, as_member):
    reed = make.ReedFactory(owner=student, number=71)
    answer = as_member(student).get(student.to("reeds:reeds"), {"number": " 71 "})
    assert answer.url == student.to("reeds:reed", reed.pk)


def test_number_that_two_students_have_lists_both_and_with_the_name_finds_one(
    student, other_student, teacher, as_member
):
    for owner in (student, other_student):
        make.ReedFactory(owner=owner, number=5)
    client, address = as_member(teacher), teacher.to("reeds:reeds")
    page = client.get(address, {"number": "5"}).content.decode()
    assert page.count(cork(5)) == 2
    answer = client.get(address, {"number": "5", "student": student.pk})
    assert answer.url == teacher.to("reeds:reed", Reed.objects.get(owner=student).pk)


def test_number_nobody_wrote_finds_none(student, as_member):
    make.ReedFactory(owner=student, number=1)
    page = as_member(student).get(student.to("reeds:reeds"), {"number": "99"})
    assert "No reed fits." in page.content.decode()


@pytest.mark.parametrize("typed", ["five", "-1", "1.5", "²"])
def test_number_that_is_none_is_said_and_stays(student, as_member, typed):
    answer = as_member(student).get(student.to("reeds:reeds"), {"number": typed, "stage": "tied"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "digits only" in page
    assert f'value="{typed}"' in page
    assert 'value="tied" selected' in page


def test_list_is_narrowed_by_stage_and_sheet(student, as_member):
    tied = make.ReedFactory(owner=student, number=1, stage="tied")
    make.ReedFactory(owner=student, number=2, stage="playing", version=tied.version)
    make.ReedFactory(owner=student, number=3, stage="playing")
    client, address = as_member(student), student.to("reeds:reeds")
    page = client.get(address, {"stage": "playing"}).content.decode()
    assert (cork(1) in page, cork(2) in page, cork(3) in page) == (False, True, True)
    page = client.get(address, {"stage": "playing", "pattern": tied.version.pattern_id}).content.decode()
    assert (cork(1) in page, cork(2) in page, cork(3) in page) == (False, True, False)


def test_htmx_swaps_the_rows_only(student, as_member):
    make.ReedFactory(owner=student, number=1)
    answer = as_member(student).get(
        student.to("reeds:reeds"), {"stage": "tied"}, headers={"HX-Request": "true"}
    )
    assert answer.content.decode().startswith('<div id="rows">')
    assert "HX-Request" in answer.headers["Vary"]
    back = {"HX-Request": "true", "HX-History-Restore-Request": "true"}
    answer = as_member(student).get(student.to("reeds:reeds"), {"stage": "tied"}, headers=back)
    assert answer.content.decode().startswith("<!doctype html>")


def test_list_asks_as_often_for_sixty_reeds_as_for_two(
    student, teacher, as_member, django_assert_max_num_queries
):
    client, address = as_member(teacher), teacher.to("reeds:reeds")
    for _n in range(2):
        make.ReedFactory(owner=student)
    with django_assert_max_num_queries(12) as few:
        client.get(address)
    for _n in range(58):
        make.ReedFactory(owner=make.student(studio=teacher.studio))
    with django_assert_max_num_queries(len(few)):
        page = client.get(address)
    assert page.content.decode().count('<span class="cork">') == 40
    second = client.get(address, {"page": "2", "stage": "tied"}).content.decode()
    assert second.count('<span class="cork">') == 20
    assert "stage=tied&amp;page=1" in second


def test_student_cannot_narrow_to_another_students(student, other_student, as_member):
    make.ReedFactory(owner=other_student, number=71)
    page = as_member(student).get(student.to("reeds:reeds"), {"student": other_student.pk})
    assert cork(71) not in page.content.decode()


def test_stranger_is_not_let_in(stranger, student, as_member):
    assert as_member(stranger).get(student.to("reeds:reeds")).status_code == 404
    make.ReedFactory(owner=student, number=71)
    assert cork(71) not in as_member(stranger).get(stranger.to("reeds:reeds")).content.decode()


def test_wrong_method_is_refused(student, as_member):
    assert as_member(student).post(student.to("reeds:reeds")).status_code == 405
