"""A teacher marks passages of a recording; the student reads them once the answer is sent."""

import json
import uuid

import pytest
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Mark, Phrase, Written
from reeds.take.models import Take
from tests import factories as make

KEY = "12345678-1234-5678-1234-567812345678"
WORDS = "it speaks late here"


@pytest.fixture
def sent(student):
    return make.sent_round(student, photos=0, takes=1)


@pytest.fixture
def take(sent):
    return sent.takes.get()


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def put(desk, teacher, sent, take):
    """Return a function that keeps a span as the page's script does."""

    def put(**change):
        mark = {
            "key": KEY,
            "take": take.pk,
            "kind": "span",
            "start": 0.6,
            "end": 1.5,
            "words": WORDS,
        } | change
        return desk.post(
            teacher.to("lessons:mark", sent.pk), json.dumps(mark), content_type="application/json"
        )

    return put


@pytest.fixture
def typed(desk, teacher, sent, take):
    """Return a function that sends the form, as a page without script does."""

    def typed(client=desk, **fields):
        given = {"key": KEY, "start": "0,6", "end": "1.5", "words": WORDS} | fields
        return client.post(teacher.to("lessons:span", sent.pk, take.pk), given)

    return typed


def send_answer(sent, teacher):
    answer = actions.answer_of(sent, teacher)
    actions.keep_answer(answer, Written(decision="work"))
    actions.send_answer(answer)
    return answer


def page(client, member, take):
    return client.get(member.to("reeds:take", take.pk)).content.decode()


def test_a_span_from_the_script_is_kept_and_both_pages_have_it_again(put, desk, teacher, sent, take):
    assert put().json() == {"key": KEY}
    (mark,) = Mark.objects.all()
    assert (mark.take, mark.photo, mark.span.start_s, mark.span.end_s, mark.words) == (
        take,
        None,
        0.6,
        1.5,
        WORDS,
    )
    review = desk.get(teacher.to("lessons:review", sent.pk))
    assert review.context["marks"] == [
        {"key": KEY, "take": take.pk, "kind": "span", "start": 0.6, "end": 1.5, "words": WORDS}
    ]
    for text in (review.content.decode(), page(desk, teacher, take)):
        assert WORDS in text
        assert 'class="span"' in text
        assert "0:00.6 – 0:01.5" in text


def test_the_same_key_changes_it_and_dropping_twice_is_once(put, desk, teacher, sent):
    put()
    put(words="no, earlier", start=0.5)
    assert (Mark.objects.get().words, Mark.objects.get().span.start_s) == ("no, earlier", 0.5)
    for _time in range(2):
        body = json.dumps({"key": KEY})
        address = teacher.to("lessons:drop_mark", sent.pk)
        assert desk.post(address, body, content_type="application/json").status_code == 200
    assert not Mark.objects.exists()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"end": 99}, "outside the recording"),
        ({"end": 0.61}, "too short"),
        ({"take": "1"}, "cannot be read"),
        ({"start": None}, "cannot be read"),
    ],
)
def test_a_span_that_cannot_be_is_refused_with_a_sentence(put, change, sentence):
    refused = put(**change)
    assert refused.status_code == 422
    assert sentence in refused.json()["refusal"]
    assert not Mark.objects.exists()


def test_a_take_that_was_not_sent_with_the_round_takes_no_span(put, sent):
    elsewhere = make.ready_take(sent.reed)
    assert "does not belong" in put(take=elsewhere.pk).json()["refusal"]
    foreign = make.ready_take(make.ReedFactory(owner=make.student()))
    assert put(take=foreign.pk).status_code == 404


def test_without_script_the_seconds_and_words_are_typed(typed, take, teacher):
    answer = typed()
    assert answer.url == teacher.to("reeds:take", take.pk)
    typed()  # the same form sent twice
    (mark,) = Mark.objects.all()
    assert (mark.span.start_s, mark.span.end_s, mark.words) == (0.6, 1.5, WORDS)


def test_without_script_a_usual_phrase_is_picked_and_counted(typed, teacher):
    phrase = Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="Start it with more air.")
    typed(words="", phrase=phrase.pk)
    phrase.refresh_from_db()
    assert (Mark.objects.get().words, phrase.used) == ("Start it with more air.", 1)


def test_a_colleagues_phrase_is_none_of_mine(typed, teacher):
    other = make.teacher(studio=teacher.studio)
    phrase = Phrase.objects.create(studio=teacher.studio, teacher=other, words="theirs")
    assert typed(phrase=phrase.pk).status_code == 422


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"start": "soon"}, "soon"),
        ({"end": ""}, "required"),
        ({"start": "2.4", "end": "0.3"}, "too short"),
        ({"end": "190"}, "outside the recording"),
    ],
)
def test_what_is_typed_wrongly_comes_back_with_its_words(typed, fields, sentence):
    answer = typed(**fields)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert sentence in text
    assert WORDS in text
    assert not Mark.objects.exists()


def test_a_span_is_taken_off_without_script_and_one_goes_back_where_one_was(typed, desk, teacher, sent, take):
    review = teacher.to("lessons:review", sent.pk)
    assert typed(back="review").url == f"{review}#take-{take.pk}"
    address = teacher.to("lessons:drop_span", sent.pk, take.pk)
    assert desk.post(address, {"key": "no"}).status_code == 302
    assert Mark.objects.exists()
    assert desk.post(address, {"key": KEY, "back": "review"}).url == f"{review}#take-{take.pk}"
    assert not Mark.objects.exists()


def test_a_student_reads_it_only_once_the_answer_is_sent(put, as_member, student, teacher, sent, take):
    put()
    client = as_member(student)
    round_page = student.to("lessons:round", sent.pk)
    for text in (page(client, student, take), client.get(round_page).content.decode()):
        assert WORDS not in text
        assert 'class="span"' not in text
    send_answer(sent, teacher)
    for text in (page(client, student, take), client.get(round_page).content.decode()):
        assert WORDS in text
        assert 'class="span"' in text
        assert "data-span-form" not in text


def test_a_colleague_reads_it_once_it_is_sent_and_marks_for_themselves(put, as_member, teacher, sent, take):
    put()
    other = make.teacher(studio=teacher.studio)
    client = as_member(other)
    assert WORDS not in page(client, other, take)
    send_answer(sent, teacher)
    text = page(client, other, take)
    assert WORDS in text
    assert f'value="{KEY}"' not in text
    assert "data-span-form" in text


def test_an_answer_that_was_sent_takes_no_more_spans(put, typed, desk, teacher, sent, take):
    send_answer(sent, teacher)
    assert "has been sent" in put().json()["refusal"]
    answer = typed()
    assert answer.status_code == 422
    assert "Take it back" in answer.content.decode() or "take it back" in answer.content.decode()
    assert "data-span-form" not in page(desk, teacher, take)


def test_a_student_a_fellow_and_a_stranger_mark_nothing(
    typed, as_member, student, other_student, stranger, sent, take
):
    for who in (student, other_student, stranger):
        assert typed(client=as_member(who)).status_code == 404
        assert as_member(who).post(who.to("lessons:span", sent.pk, take.pk), {}).status_code == 404
        assert as_member(who).post(who.to("lessons:drop_span", sent.pk, take.pk), {}).status_code == 404
    assert not Mark.objects.exists()


def test_a_take_of_no_round_is_not_marked(desk, teacher, student):
    take = make.ready_take(make.ReedFactory(owner=student))
    assert "data-span-form" not in page(desk, teacher, take)


def test_a_take_that_is_still_listened_to_or_was_refused_is_not_marked(desk, teacher, sent, take, typed):
    for state in ("waiting", "refused"):
        Take.objects.update(state=state, result={}, tracks={})
        for where in (teacher.to("lessons:review", sent.pk), teacher.to("reeds:take", take.pk)):
            assert "data-span-form" not in desk.get(where).content.decode()
    assert typed().status_code == 422
    assert not Mark.objects.exists()


# --- the file ---


def exported(client, member, sent):
    return json.loads(client.get(member.to("lessons:marks", sent.pk)).content)


def test_the_file_points_at_the_seconds_of_the_sound(put, as_member, student, teacher, sent, take, settings):
    settings.SITE_ADDRESS = "https://reeds.example.org"
    put()
    assert exported(as_member(student), student, sent)["total"] == 0
    send_answer(sent, teacher)
    (one,) = exported(as_member(student), student, sent)["first"]["items"]
    assert one["target"] == {
        "type": "SpecificResource",
        "source": f"https://reeds.example.org{student.to('reeds:take_sound', take.pk)}",
        "selector": {
            "type": "FragmentSelector",
            "conformsTo": "http://www.w3.org/TR/media-frags/",
            "value": "t=0.6,1.5",
        },
    }
    assert one["body"][0]["value"] == WORDS


def test_marks_on_a_recording_taken_back_point_at_nothing_and_are_left_out(put, desk, teacher, sent):
    put()
    photo = make.ready_photo(sent.reed)
    sent.photos.add(photo)
    answer = actions.answer_of(sent, teacher)
    Mark.objects.create(studio=sent.studio, answer=answer, photo=photo, annotation=make.mark())
    assert exported(desk, teacher, sent)["total"] == 2
    Take.objects.update(taken_back_at=timezone.now())
    assert exported(desk, teacher, sent)["total"] == 1
    assert put(key=str(uuid.uuid4())).status_code == 404
    review = desk.get(teacher.to("lessons:review", sent.pk))
    assert review.status_code == 200
    assert WORDS not in review.content.decode().split('id="marks-data"')[0]


def test_more_takes_with_spans_cost_no_more_queries(desk, teacher, sent, django_assert_max_num_queries):
    answer = actions.answer_of(sent, teacher)
    address = teacher.to("lessons:review", sent.pk)

    def another():
        take = make.ready_take(sent.reed)
        sent.takes.add(take)
        Mark.objects.create(studio=sent.studio, answer=answer, take=take, annotation=make.span_mark())

    another()
    desk.get(address)
    with django_assert_max_num_queries(60) as few:
        desk.get(address)
    for _ in range(4):
        another()
    with django_assert_max_num_queries(len(few)):
        desk.get(address)
