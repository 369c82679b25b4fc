"""A teacher writes a letter: what is proposed, what is kept, what is refused."""

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.models import Answer
from lessons.lesson.models import Lesson, SetWork
from lessons.letter import actions
from lessons.letter.models import Letter
from lessons.letter.pages.proposed import Proposals
from lessons.letter.written import Picture
from lessons.term.lookback.sentence import Manner, Phrase, Sentence, Topic
from lessons.term.lookback.sentences import Said
from lessons.term.rows import TermRows
from reeds.photo.models.photo import Photo
from studio.errors import NotPossible
from tests import factories as make
from tests.lessons.letter import make_letter as of


@pytest.fixture
def term(teacher):
    return of.term(teacher.studio)


@pytest.fixture
def address(teacher, student, term):
    return teacher.to("lessons:letter_write", student.pk, term.pk)


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


def page_of(desk, address):
    return desk.get(address).content.decode()


def ticked(page, kind):
    """Return the numbers of the rows that are ticked."""
    rows = page.split(f'name="{kind}-keep" value="')[1:]
    return [int(row.split('"')[0]) for row in rows if "checked" in row.split(">")[0]]


# --- proposed -------------------------------------------------------------------------------------


def test_of_the_measured_reeds_the_first_the_best_and_the_latest_are_proposed(desk, address, student):
    photos = [of.sent_photo(student, days, speaks) for days, speaks in ((40, 5), (30, 2), (20, 4), (10, 1))]
    page = page_of(desk, address)
    chosen = [f'value="{photo.pk}"\n          checked' in page for photo in photos]
    assert chosen == [True, False, True, True]
    for words in (": the first", ": it spoke best", ": the latest"):
        assert page.count(words) == 1


def test_one_photo_a_reed_is_offered_and_none_that_was_not_sent(desk, address, student):
    photo = of.sent_photo(student, 10)
    draft = make.measured_photo(make.ReedFactory(owner=student))
    opening = of.sent_photo(student, 9)
    Photo.objects.filter(pk=opening.pk).update(view="opening")
    page = page_of(desk, address)
    assert f'name="pictures" value="{photo.pk}"' in page
    assert f'name="pictures" value="{draft.pk}"' not in page
    assert f'name="pictures" value="{opening.pk}"' not in page


def test_of_a_minor_without_consent_no_photo_is_offered_nor_taken(desk, address, student, term):
    photo = of.sent_photo(student, 10)
    student.under_age = True
    student.save()
    assert "the guardian&#x27;s consent is not noted" in page_of(desk, address).replace("'", "&#x27;")
    assert desk.post(address, of.sent(pictures=[photo.pk])).status_code == 422
    letter = of.kept(student, term, pictures=[Picture(photo.pk, "Reed 1")])
    assert list(letter.pictures.all()) == []


def test_what_was_agreed_is_proposed_once_the_newest_first(desk, address, teacher, student, term):
    for days in (30, 16, 2):
        at = timezone.now() - dt.timedelta(days=days)
        lesson = Lesson.objects.create(
            studio=teacher.studio, at=at, time_zone="UTC", held_by=teacher, agreed="Tie two a day apart."
        )
        lesson.present.add(student)
    work = SetWork(studio=teacher.studio, student=student, words="three blanks", done_at=timezone.now())
    work.save()
    page = page_of(desk, address)
    assert page.count("Tie two a day apart.") == 2  # the line, and what its tick is called
    assert "three blanks (done)" in page
    assert page.index("three blanks (done)") < page.index("Tie two a day apart.")


def test_findings_that_are_there_again_and_again_come_back(desk, address, student):
    for days in (40, 20, 1):
        make.sent_round(student, days=days, findings=[make.finding("differs", check="airtight")])
    make.sent_round(student, days=5, findings=[make.finding("below", quantity="scrape_length")])
    page = page_of(desk, address)
    assert ">Leaks, on 3 of the 4 reeds sent<" in page
    assert "scrape length" not in page
    assert ticked(page, "comes_back") == [0]


def test_what_may_be_said_is_ticked_and_what_cannot_be_said_is_offered(desk, address, student):
    for days in (10, 9, 8):
        of.sent_photo(student, days)
    page = page_of(desk, address)
    assert ticked(page, "sentences") == [0]
    counted, *others = page.split('name="sentences-text"')[1:]
    assert ">Three reeds made: none came to play, none given up, three still on the way.<" in counted
    assert any("Not enough reeds" in other for other in others)


def test_changes_come_first_and_a_question_to_the_teacher_is_not_ticked(term, teacher, student):
    def said(manner, topic, words):
        return Sentence(manner=manner, topic=topic, text=Phrase(words))

    sentences = [
        said(Manner.FACT, Topic.REEDS, "nine reeds made"),
        said(Manner.STATE, Topic.OFFSET, "an offset, or the hand?"),
        said(Manner.CHANGE, Topic.EVENNESS, "even within 0.6 mm now"),
        said(Manner.CHANGE, Topic.FINDING, "leaks: none since"),
        said(Manner.CHANGE, Topic.RATING, "the low notes speak"),
    ]
    unsaid = [said(Manner.UNSAID, Topic.AIM, "x" * 300)]
    proposals = Proposals(TermRows(term, teacher, student), Said(sentences, unsaid), student)
    changes = ["Even within 0.6 mm now", "Leaks: none since", "The low notes speak"]
    assert proposals.picked("sentences") == changes
    *lines, long = proposals.lines("sentences")
    assert lines == [*changes, "Nine reeds made", "An offset, or the hand?"]
    assert (len(long), long[-1]) == (200, "…")
    fewer = Proposals(TermRows(term, teacher, student), Said(sentences[:3], []), student)
    assert fewer.picked("sentences") == ["Even within 0.6 mm now", "Nine reeds made"]


def test_an_empty_term_proposes_nothing_and_says_so(desk, address):
    page = page_of(desk, address)
    assert page.count("The term&#x27;s rows propose nothing here.".replace("&#x27;", "'")) == 3
    assert "No photo of this term was measured from the foot to the tip" in page


def test_looking_at_it_keeps_nothing(desk, address):
    page_of(desk, address)
    assert not Letter.objects.exists()


# --- kept -----------------------------------------------------------------------------------------


def test_what_is_ticked_is_kept_as_it_was_changed_and_stands_there_again(desk, address, student):
    photo = of.sent_photo(student, 10)
    answer = desk.post(address, of.sent(pictures=[photo.pk]))
    letter = Letter.objects.get()
    assert answer["Location"].endswith(f"/letters/{letter.pk}/")
    assert (letter.sentences, letter.words, letter.next_aim) == (
        ["Even now."],
        "Go on like this.",
        "Ten reeds.",
    )
    assert [(one.photo, one.place) for one in letter.pictures.all()] == [(photo, 1)]
    page = page_of(desk, address)
    assert ticked(page, "sentences") == [0]
    assert "Go on like this." in page
    assert 'value="Ten reeds."' in page
    assert letter.saved_at.isoformat() in page.replace("&#x2B;", "+")


def test_ones_own_line_needs_no_tick(desk, address):
    # the last row is an empty one of the page, which carries its own number along
    desk.post(address, of.sent(**{"agreed-text": ["", "Ring me on Friday."], "agreed-keep": ["0", "1"]}))
    assert Letter.objects.get().agreed == ["Ring me on Friday."]


def test_everything_left_out_is_kept_empty_and_proposed_again(desk, address, student):
    for days in (40, 20, 1):
        make.sent_round(student, days=days, findings=[make.finding("differs", check="airtight")])
    desk.post(address, of.sent(**{"sentences-keep": []}))
    assert Letter.objects.get().comes_back == []
    page = page_of(desk, address)
    assert ">Leaks, on 3 of the 3 reeds sent<" in page
    assert ticked(page, "comes_back") == []


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"sentences-text": list("abcd"), "sentences-keep": list("0123")}, "3 lines at most"),
        ({"agreed-text": ["x" * 201], "agreed-keep": ["0"]}, "A line holds up to 200 letters."),
        ({"words": "x" * 1801}, "at most 1800 characters"),
        (
            {"words": "\n".join("x" * 25)},
            "Twenty-four lines at most, so that the letter",
        ),
        ({"next_aim": "x" * 201}, "at most 200 characters"),
        ({"pictures": ["99999"]}, "99999 is not one of the available choices"),
        ({"pictures": ["oops", "9" * 30]}, "not one of the available choices"),
    ],
)
def test_what_is_too_much_is_refused_with_a_sentence_and_stands_there_still(desk, address, wrong, said):
    answer = desk.post(address, of.sent(next_aim="Ten reeds.") | wrong)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page
    if "words" not in wrong:
        assert "Go on like this." in page
    assert not Letter.objects.filter(saved_at__isnull=False).exists()


def test_a_fourth_reed_is_refused(desk, address, student):
    photos = [of.sent_photo(student, days) for days in (4, 3, 2, 1)]
    answer = desk.post(address, of.sent(pictures=[photo.pk for photo in photos]))
    assert (answer.status_code, "Three reeds at most" in answer.content.decode()) == (422, True)


def test_garbage_in_the_form_is_no_error(desk, address):
    wrong = {
        "sentences-text": ["a"],
        "sentences-keep": ["x", "-1", "9" * 30],
        "since": "never",
    }
    assert desk.post(address, wrong).status_code == 302
    assert Letter.objects.get().sentences == []


def test_words_of_another_window_are_not_overwritten_unseen(desk, address, student, term):
    of.kept(student, term, words="First window.")
    answer = desk.post(address, of.sent(words="Second window."))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "changed in another window" in page
    assert "Second window." in page
    letter = Letter.objects.get()
    assert letter.words == "First window."
    assert (
        desk.post(address, of.sent(words="Second window.", since=letter.saved_at.isoformat())).status_code
        == 302
    )
    letter.refresh_from_db()
    assert letter.words == "Second window."


def test_two_that_begin_at_once_begin_one(student, term, monkeypatch):
    first = actions.draft_of(student, term)
    assert actions._begun(student, term) == first  # as in a window that saw no draft yet
    assert actions.draft_of(student, term) == first
    assert Letter.objects.count() == 1


def test_more_than_a_letter_holds_is_refused_by_the_action_too(student, term):
    with pytest.raises(NotPossible, match="more than a letter of one sheet holds"):
        of.kept(student, term, sentences=["a"] * 4)


# --- who, and of whom -----------------------------------------------------------------------------


def test_only_teachers_of_the_studio_write(as_member, address, student, other_student, stranger, term):
    for member in (student, other_student, stranger):
        client = as_member(member)
        assert client.get(address).status_code == 404
        assert client.post(address, of.sent()).status_code == 404
    theirs = stranger.to("lessons:letter_write", student.pk, term.pk)
    assert as_member(stranger).post(theirs, of.sent()).status_code == 404
    assert not Letter.objects.exists()


def test_no_letter_goes_to_a_teacher_nor_about_another_studios_term(desk, teacher, student, stranger):
    own = of.term(teacher.studio)
    assert desk.get(teacher.to("lessons:letter_write", teacher.pk, own.pk)).status_code == 404
    other = of.term(stranger.studio)
    assert desk.get(teacher.to("lessons:letter_write", student.pk, other.pk)).status_code == 404


def test_another_students_photo_cannot_be_slipped_in(desk, address, student, other_student, term):
    photo = of.sent_photo(other_student, 10)
    assert desk.post(address, of.sent(pictures=[photo.pk])).status_code == 422
    letter = of.kept(student, term, pictures=[Picture(photo.pk, "Reed 1")])
    assert list(letter.pictures.all()) == []


def test_of_a_student_who_left_a_letter_can_still_be_written(desk, address, student):
    student.left_at = timezone.now()
    student.save()
    answer = desk.post(address, of.sent(), follow=True)
    page = answer.content.decode()
    assert "left the studio on" in page
    assert "hand over the PDF or a print" in page


def test_the_letter_is_no_answer_of_a_round(desk, address):
    desk.post(address, of.sent())
    assert not Answer.objects.exists()
