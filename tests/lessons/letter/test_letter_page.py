"""A letter as it is read: by whom, in which version, and what of it can be shown no longer."""

import datetime as dt
from pathlib import Path

import pytest
from django.core import mail
from django.utils import timezone

from lessons.letter import actions
from lessons.letter.models import Letter
from lessons.letter.written import Picture
from lessons.sending.models import Notice
from reeds.reed.actions import take_out
from reeds.sweep import sweep
from studio.actions import drop_term
from studio.errors import NotPossible
from tests import factories as make
from tests.lessons.letter import make_letter as of


@pytest.fixture
def term(teacher):
    return of.term(teacher.studio)


@pytest.fixture
def photo(student):
    return of.sent_photo(student, 10)


@pytest.fixture
def letter(teacher, student, term, photo):
    return of.given(teacher, student, term, pictures=[Picture(photo.pk, "Reed 1, the first")])


def page_of(client, member, letter):
    return client.get(member.to("lessons:letter", letter.pk)).content.decode()


def list_of(client, member):
    return client.get(member.to("lessons:letters")).content.decode()


def test_a_draft_is_the_teachers_alone(as_member, teacher, student, term):
    draft = of.kept(student, term)
    assert as_member(student).get(student.to("lessons:letter", draft.pk)).status_code == 404
    assert as_member(student).get(student.to("lessons:letter_pdf", draft.pk)).status_code == 404
    assert "No letter was given yet." in list_of(as_member(student), student)
    assert "does not see it until you give it" in page_of(as_member(teacher), teacher, draft)
    colleague = make.teacher(studio=teacher.studio)
    assert "Go on like this." in page_of(as_member(colleague), colleague, draft)


def test_given_it_is_read_by_its_student_alone(as_member, student, other_student, stranger, letter):
    page = page_of(as_member(student), student, letter)
    for words in ("Go on like this.", "Even within 0.6 mm now", "Reed 1, the first"):
        assert words in page
    for hidden in ("Give it", "Write a new version", "Throw the draft away"):
        assert hidden not in page
    assert student.to("lessons:letter", letter.pk) in list_of(as_member(student), student)
    for other in (other_student, stranger):
        assert as_member(other).get(student.to("lessons:letter", letter.pk)).status_code == 404
        assert as_member(other).get(other.to("lessons:letter", letter.pk)).status_code == 404
        assert as_member(other).post(other.to("lessons:letter_give", letter.pk)).status_code == 404


def test_a_student_gives_nothing_and_throws_nothing_away(as_member, student, letter):
    for name in ("letter_give", "letter_away"):
        assert as_member(student).post(student.to(f"lessons:{name}", letter.pk)).status_code == 404


def test_the_student_is_told_once_by_e_mail(
    teacher, student, term, django_capture_on_commit_callbacks, as_member
):
    draft = of.kept(student, term)
    with django_capture_on_commit_callbacks(execute=True):
        for _twice in range(2):
            assert as_member(teacher).post(teacher.to("lessons:letter_give", draft.pk)).status_code == 302
    told = [one for one in mail.outbox if student.person.email in one.to]
    assert len(told) == Notice.objects.filter(to=student).count() == 1
    assert student.to("lessons:letter", draft.pk) in told[0].body
    assert "Go on like this." not in told[0].body


def test_an_empty_letter_is_not_given(as_member, teacher, student, term):
    draft = of.kept(student, term, sentences=[], words="")
    answer = as_member(teacher).post(teacher.to("lessons:letter_give", draft.pk), follow=True)
    assert "There is nothing in it yet" in answer.content.decode()
    draft.refresh_from_db()
    assert draft.is_draft


def test_given_it_is_changed_no_more_and_a_change_is_a_new_version(as_member, teacher, student, term, letter):
    with pytest.raises(NotPossible, match="given meanwhile"):
        actions.keep(letter, of.written(words="Other."), letter.saved_at.isoformat())
    writing = as_member(teacher).get(teacher.to("lessons:letter_write", student.pk, term.pk))
    assert "Go on like this." in writing.content.decode()  # begun from what was given
    second = of.given(teacher, student, term, words="Better still.")
    assert (letter.version, second.version) == (1, 2)
    client = as_member(student)
    assert "Go on like this." in page_of(client, student, letter)
    new = page_of(client, student, second)
    assert "version 2" in new
    assert student.to("lessons:letter", letter.pk) in new  # the old remains readable


def test_given_twice_at_once_is_given_once(teacher, student, term):
    draft = of.kept(student, term)
    same = Letter.objects.get(pk=draft.pk)
    actions.give(draft, teacher)
    actions.give(same, make.teacher(studio=teacher.studio))
    assert Letter.objects.get().given_by == teacher


def test_a_draft_is_thrown_away_with_its_file_and_one_that_was_given_stays(
    as_member, teacher, student, term, letter, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        draft = of.kept(student, term)
    draft.refresh_from_db()
    path = Path(draft.pdf.path)
    assert path.exists()
    client = as_member(teacher)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(teacher.to("lessons:letter_away", draft.pk))
        client.post(teacher.to("lessons:letter_away", letter.pk))
    assert list(Letter.objects.all()) == [letter]
    assert not path.exists()
    with pytest.raises(NotPossible, match="thrown away meanwhile"):
        actions.keep(draft, of.written())


def test_the_term_taken_away_leaves_the_letter(as_member, teacher, student, term, letter):
    drop_term(term)
    page = page_of(as_member(student), student, letter)
    assert "Autumn: reeds made from" in page
    assert "Write a new version" not in page_of(as_member(teacher), teacher, Letter.objects.get())


# --- photos that can be shown no longer ------------------------------------------------------------


def not_shown(page):
    return "1 photo that was chosen is not shown any more." in page


def test_a_reed_taken_out_takes_its_photo_along(as_member, student, photo, letter):
    assert student.to("reeds:flat", photo.pk) in page_of(as_member(student), student, letter)
    take_out(photo.reed)
    page = page_of(as_member(student), student, letter)
    assert not_shown(page)
    assert "Reed 1, the first" not in page


def test_a_photo_that_is_gone_is_left_out(as_member, student, photo, letter):
    photo.delete()
    assert not_shown(page_of(as_member(student), student, letter))


def test_without_consent_no_photo_is_shown_and_with_it_again(as_member, student, photo, letter):
    student.under_age = True
    student.save()
    assert not_shown(page_of(as_member(student), student, letter))
    student.guardian_consent_on = make.today()
    student.save()
    assert "Reed 1, the first" in page_of(as_member(student), student, letter)
    student.guardian_consent_withdrawn_at = timezone.now()
    student.save()
    assert not_shown(page_of(as_member(student), student, letter))


# --- lists ----------------------------------------------------------------------------------------


def test_a_teacher_sees_whose_letter_is_written(as_member, teacher, student, other_student, term, letter):
    gone = make.student(studio=teacher.studio, left_at=timezone.now() - dt.timedelta(days=5))
    before = make.student(studio=teacher.studio, left_at=timezone.now() - dt.timedelta(days=500))
    page = list_of(as_member(teacher), teacher)
    assert teacher.to("lessons:letter", letter.pk) in page
    assert teacher.to("lessons:letter_write", other_student.pk, term.pk) in page
    assert str(gone) in page
    assert str(before) not in page


@pytest.mark.parametrize(("asked", "status"), [("x", 404), ("9" * 40, 404), ("0", 404), ("", 200)])
def test_a_term_that_is_none_is_not_found(as_member, teacher, term, asked, status):
    answer = as_member(teacher).get(teacher.to("lessons:letters"), {"term": asked})
    assert answer.status_code == status


def test_without_a_term_the_page_says_what_to_do(as_member, teacher):
    assert "No term has been named yet" in list_of(as_member(teacher), teacher)


def test_the_sweep_keeps_a_letters_file_and_takes_one_that_no_letter_holds(
    teacher, student, term, settings, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        letter = of.kept(student, term)
    letter.refresh_from_db()
    orphan = Path(letter.pdf.path).with_name("orphan.pdf")
    orphan.write_bytes(b"%PDF")
    assert sweep(timezone.now() + dt.timedelta(days=2)) == 1
    assert Path(letter.pdf.path).exists()
    assert not orphan.exists()
