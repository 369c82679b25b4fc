"""The printed card: one's own, its files at true size, what its bar measures."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from reeds.photo.actions import card as card_actions
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring
from reeds.photo.vision.lengths import UNMEASURED_PRINT
from studio.errors import NotPossible


@pytest.fixture
def card(student) -> PrintedCard:
    return card_actions.new_card(student)


@pytest.fixture
def teachers_card(teacher) -> PrintedCard:
    return card_actions.new_card(teacher)


def test_student_makes_a_card_of_their_own_with_the_next_number(student, teachers_card, as_member):
    client = as_member(student)
    answer = client.post(student.to("reeds:card"))
    made = PrintedCard.objects.get(owner=student)
    assert made.number == teachers_card.number + 1
    assert answer.url.endswith(f"#card-{made.pk}")
    page = client.get(student.to("reeds:card")).content.decode()
    assert f"Card {made.number}" in page
    assert "from your teacher" in page


def test_numbers_begin_at_one_in_every_studio(student, card, stranger):
    assert (card.number, card_actions.new_card(stranger).number) == (1, 1)


def test_card_comes_as_pdf_of_two_pages_and_as_a_true_size_picture(student, card, as_member):
    client = as_member(student)
    pdf = client.get(student.to("reeds:card_file", card.pk, "pdf"))
    assert pdf["Content-Type"] == "application/pdf"
    assert f"card-{card.number}.pdf" in pdf["Content-Disposition"]
    assert pdf.content.count(b"/Type /Page\n") == 2
    assert b"419.5276 297.6378" in pdf.content  # A6: 148 x 105 mm in points
    png = client.get(student.to("reeds:card_file", card.pk, "png"))
    with Image.open(io.BytesIO(png.content)) as picture:
        assert picture.size == (round(148 / 25.4 * 300), round(105 / 25.4 * 300))
    assert client.get(student.to("reeds:card_file", card.pk, "svg")).status_code == 404


@pytest.mark.parametrize(("typed", "method", "u"), [("99.4", "ruler", 0.002), ("99,4 mm", "caliper", 0.0005)])
def test_bar_as_measured_becomes_the_cards_factor(student, card, as_member, typed, method, u):
    assert card.factor == UNMEASURED_PRINT
    answer = as_member(student).post(student.to("reeds:card_bar", card.pk), {"bar": typed, "method": method})
    assert answer.status_code == 302
    card.refresh_from_db()
    assert card.factor.value == pytest.approx(0.994)
    assert card.factor.u == pytest.approx(u)
    assert card.noted_by == student


@pytest.mark.parametrize(
    "form",
    [
        {"bar": "nan", "method": "ruler"},
        {"bar": "0", "method": "ruler"},
        {"bar": "10", "method": "ruler"},
        {"bar": "", "method": "ruler"},
        {"bar": "99.5", "method": "eye"},
        {"bar": "99.5"},
    ],
)
def test_bar_that_cannot_be_right_is_said_and_not_kept(student, card, as_member, form):
    answer = as_member(student).post(student.to("reeds:card_bar", card.pk), form)
    assert answer.status_code == 422
    assert "errorlist" in answer.content.decode()
    card.refresh_from_db()
    assert card.bar_mm is None


def test_first_student_to_measure_a_teachers_card_notes_it_and_the_next_may_not(
    student, other_student, teachers_card, as_member
):
    address = student.to("reeds:card_bar", teachers_card.pk)
    assert as_member(student).post(address, {"bar": "99.8", "method": "ruler"}).status_code == 302
    answer = as_member(other_student).post(address, {"bar": "120", "method": "ruler"})
    assert answer.status_code == 422
    assert "Only who printed this card" in answer.content.decode()
    teachers_card.refresh_from_db()
    assert teachers_card.bar_mm == 99.8


def test_fellow_student_and_stranger_find_no_card_of_another(
    student, other_student, stranger, card, as_member
):
    for member in (other_student, stranger):
        client = as_member(member)
        for home in (student, member):
            assert client.get(home.to("reeds:card_file", card.pk, "pdf")).status_code == 404
            assert client.post(home.to("reeds:card_bar", card.pk), {"bar": "99"}).status_code == 404
    assert "Card 1" not in as_member(other_student).get(student.to("reeds:card")).content.decode()


def test_teacher_sees_every_card_and_corrects_a_bar(teacher, student, card, as_member):
    card_actions.note_bar(card, student, 99.0, card.bar_method or "ruler")
    client = as_member(teacher)
    assert str(student) in client.get(teacher.to("reeds:card")).content.decode()
    form = {"bar": "99.9", "method": "caliper"}
    assert client.post(teacher.to("reeds:card_bar", card.pk), form).status_code == 302
    card.refresh_from_db()
    assert (card.bar_mm, card.noted_by) == (99.9, teacher)


def test_wrong_methods_are_refused(student, card, as_member):
    client = as_member(student)
    assert client.get(student.to("reeds:card_bar", card.pk)).status_code == 405
    assert client.post(student.to("reeds:card_file", card.pk, "pdf")).status_code == 405
    assert client.delete(student.to("reeds:card")).status_code == 405


def test_page_asks_as_often_for_ten_cards_as_for_two(student, as_member, django_assert_max_num_queries):
    client = as_member(student)
    card_actions.new_card(student)
    card_actions.new_card(student)
    with django_assert_max_num_queries(12) as few:
        client.get(student.to("reeds:card"))
    for _card in range(8):
        card_actions.new_card(student)
    with django_assert_max_num_queries(len(few)):
        client.get(student.to("reeds:card"))


def test_nobody_has_more_cards_than_anyone_prints(student):
    for number in range(card_actions.MOST_CARDS):
        PrintedCard.objects.create(studio=student.studio, owner=student, number=number + 1)
    with pytest.raises(NotPossible, match="forty"):
        card_actions.new_card(student)


def test_card_to_fill_in_is_ones_own_newest_else_any(student, other_student, card, teachers_card):
    cards = list(PrintedCard.objects.visible_to(student))
    newer = card_actions.new_card(student)
    assert PhotoMeasuring.objects.likely_card(student, [*cards, newer]) == newer
    assert PhotoMeasuring.objects.likely_card(other_student, [teachers_card]) == teachers_card
    assert PhotoMeasuring.objects.likely_card(student, []) is None
