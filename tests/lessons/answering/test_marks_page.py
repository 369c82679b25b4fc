"""Marks kept one by one, dropped, and given out as a file."""

import json

import pytest

from lessons.answering import actions
from lessons.answering.models import Mark, Written
from tests import factories as make

KEY = "12345678-1234-5678-1234-567812345678"


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def sent(student):
    return make.sent_round(student)


@pytest.fixture
def mark(sent):
    return {
        "key": KEY,
        "photo": sent.photos.get().pk,
        "kind": "point",
        "points": [[0.1, 0.2]],
        "words": "here",
    }


def put(client, member, pk, mark, name="mark"):
    body = mark if isinstance(mark, str) else json.dumps(mark)
    return client.post(member.to(f"lessons:{name}", pk), body, content_type="application/json")


def test_a_teacher_keeps_a_mark_and_the_page_shows_it_again(desk, teacher, sent, mark):
    assert put(desk, teacher, sent.pk, mark).json() == {"key": KEY}
    kept = Mark.objects.get()
    assert (kept.words, kept.drawn.kind, kept.drawn.points) == ("here", "point", ((0.1, 0.2),))
    assert desk.get(teacher.to("lessons:review", sent.pk)).context["marks"][0]["words"] == "here"


def test_the_same_key_again_changes_it_and_makes_no_second(desk, teacher, sent, mark):
    put(desk, teacher, sent.pk, mark)
    put(desk, teacher, sent.pk, {**mark, "words": "there"})
    assert Mark.objects.get().words == "there"


def test_dropping_a_mark_twice_is_the_same_as_once(desk, teacher, sent, mark):
    put(desk, teacher, sent.pk, mark)
    for _time in range(2):
        assert put(desk, teacher, sent.pk, {"key": KEY}, "drop_mark").status_code == 200
    assert not Mark.objects.exists()


@pytest.mark.parametrize(
    "bad",
    [
        "not json",
        "[]",
        "{}",
        "[" * 5000,
        json.dumps({"key": "no"}),
        json.dumps({"key": KEY, "kind": "point", "points": [[0.1, 0.2]]}),
        json.dumps({"key": KEY, "kind": "point", "points": [[0.1, 0.2]], "photo": True}),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(bad, desk, teacher, sent):
    refused = put(desk, teacher, sent.pk, bad)
    assert refused.status_code == 422
    assert refused.json()["refusal"] == "This mark cannot be read."


def test_a_mark_outside_the_photo_is_refused(desk, teacher, sent, mark):
    refused = put(desk, teacher, sent.pk, {**mark, "points": [[1.2, 0.5]]})
    assert (refused.status_code, refused.json()["refusal"]) == (422, "This mark lies outside the photo.")


def test_a_photo_of_another_round_or_studio_takes_no_mark(desk, teacher, student, stranger, sent, mark):
    elsewhere = make.sent_round(student).photos.get()
    refused = put(desk, teacher, sent.pk, {**mark, "photo": elsewhere.pk})
    assert "does not belong" in refused.json()["refusal"]
    foreign = make.ready_photo(make.ReedFactory(owner=make.student(studio=stranger.studio)))
    assert put(desk, teacher, sent.pk, {**mark, "photo": foreign.pk}).status_code == 404
    assert not Mark.objects.exists()


def test_an_answer_that_was_sent_takes_no_more_marks(desk, teacher, sent, mark):
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="play"))
    actions.send_answer(answer)
    refused = put(desk, teacher, sent.pk, mark)
    assert "has been sent" in refused.json()["refusal"]


def test_what_a_page_sends_beside_kind_and_points_reaches_nobody(desk, teacher, sent, mark):
    put(
        desk,
        teacher,
        sent.pk,
        {**mark, "annotation": {"x": 1}, "svg": "<script>", "words": "<script>alert(1)</script>"},
    )
    assert "<script>alert" not in desk.get(teacher.to("lessons:review", sent.pk)).content.decode()
    assert "script" not in json.dumps(Mark.objects.get().annotation["target"])


# --- the file ---


def exported(client, member, sent):
    return client.get(member.to("lessons:marks", sent.pk))


def test_a_student_has_the_marks_as_a_file_once_the_answer_is_sent(
    as_member, student, teacher, sent, mark, desk, settings
):
    settings.SITE_ADDRESS = "https://reeds.example.org"
    put(desk, teacher, sent.pk, mark)
    assert json.loads(exported(as_member(student), student, sent).content)["total"] == 0
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="play"))
    actions.send_answer(answer)
    answered = exported(as_member(student), student, sent)
    assert "attachment" in answered["Content-Disposition"]
    (one,) = json.loads(answered.content)["first"]["items"]
    photo = student.to("reeds:photo", sent.photos.get().pk, "upright")
    assert one["target"]["source"] == f"https://reeds.example.org{photo}"
    assert one["creator"]["name"] == str(teacher)


def test_a_colleagues_marks_are_not_given_out_before_they_are_sent(as_member, teacher, sent, mark, desk):
    put(desk, teacher, sent.pk, mark)
    other = make.teacher(studio=teacher.studio)
    assert json.loads(exported(as_member(other), other, sent).content)["total"] == 0
    assert json.loads(exported(desk, teacher, sent).content)["total"] == 1


def test_another_student_and_a_stranger_find_no_such_file(as_member, other_student, stranger, sent, student):
    for who in (other_student, stranger):
        assert as_member(who).get(student.to("lessons:marks", sent.pk)).status_code == 404
