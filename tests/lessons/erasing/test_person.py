"""A person erased: name, words, pictures and account go; numbers stay, or go if they say so."""

from __future__ import annotations

import datetime as dt

import pytest
from allauth.mfa.models import Authenticator
from django.contrib.sessions.models import Session
from django.core import serializers
from django.utils import timezone

from lessons.answering.models import Answer, Phrase
from lessons.erasing.actions import erase_account, erase_person
from lessons.sending.models import Submission
from lessons.term.rows import TermRows
from lessons.term.views import term as _term  # noqa: F401  # what reads the rows is there
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from studio import erasing
from studio.errors import NotPossible
from studio.journal import Happened, JournalEntry
from studio.models import Member, Person
from tests import factories as make
from tests.lessons.erasing.test_nothing_forgotten import MODELS
from tests.lessons.term.test_rows import ALL, full

pytestmark = pytest.mark.django_db
# what is no person's: which shape, staple, cane and ways of a comparison, and sentences of ours with numbers
STAY = ("quantity", "shape", "st ", "cane", "way", "factor", "A finding", "step", "wQ", "note Q")


def all_rows():
    """All rows of all our models as text."""
    return "\n".join(serializers.serialize("json", model._base_manager.all()) for model in MODELS.values())


def words_left(sign):
    """What still bears somebody's sign, but for what stays for a reason."""
    return [
        line
        for line in all_rows().replace('", "', '"\n"').splitlines()
        if sign in line and not any(word in line for word in STAY)
    ]


def test_no_word_no_file_and_no_name_is_left_and_the_fellow_has_all(cast, files, after_commit):
    student = cast["student"]
    Person.objects.filter(pk=student.person_id).update(name="Name QMINEQ", email="QMINEQ@example.org")
    Member.objects.filter(pk=student.pk).update(guardian_name="guardian QMINEQ")
    before, theirs = words_left("QMINEQ"), words_left("QTHEIRSQ")
    with after_commit():
        erase_person(student, cast["teacher"])
    assert len(before) > 15
    left = [line for line in words_left("QMINEQ") if "computed_from" not in line]
    assert left == []
    assert words_left("QTHEIRSQ") == theirs
    assert files() == {"QTHEIRSQ"}


def test_counts_and_numbers_stay_under_a_number(cast, as_member):
    student, teacher = cast["student"], cast["teacher"]
    models = (Reed, Measurement, Submission, Answer)
    before = [model.objects.count() for model in models]
    erase_person(student, teacher)
    assert [model.objects.count() for model in models] == before
    student = Member.objects.get(pk=student.pk)
    assert str(student) == f"No. {student.pk}, erased"
    page = as_member(teacher).get(teacher.to("reeds:reed", Reed.objects.get(owner=student).pk))
    assert f"No. {student.pk}, erased" in page.content.decode()


def figures_of(teacher, term):
    """The rows that a term's figures are made of."""
    rows = TermRows(term, teacher)
    return {name: getattr(rows, name) for name in ALL}


def test_the_terms_figures_stay_what_they_were(cast):
    student, teacher = cast["student"], cast["teacher"]
    full(student)
    span = {"starts_on": dt.date(2020, 1, 1), "ends_on": dt.date(2099, 12, 31)}
    term = make.TermFactory(studio=teacher.studio, **span)
    before = figures_of(teacher, term)
    assert all(before.values())
    erase_person(student, teacher)
    assert figures_of(teacher, term) == before


def test_numbers_go_too_if_they_say_so(cast):
    student = cast["student"]
    erase_person(student, cast["teacher"], numbers_too=True)
    left = [
        rows.filter(**{path: student}).count()
        for rows, path in (
            (Reed.objects, "owner"),
            (Submission.objects, "student"),
            (Measurement.objects, "reed__owner"),
        )
    ]
    assert left == [0, 0, 0]
    assert Reed.objects.filter(owner=cast["fellow"]).exists()
    assert Member.objects.get(pk=student.pk).lessons.count() == 0


def test_the_account_goes_with_sessions_and_second_steps(cast, as_member):
    student = cast["student"]
    client, person = as_member(student), student.person
    Authenticator.objects.create(user=person, type="totp", data={})
    erase_person(student, cast["teacher"])
    assert not Person.objects.filter(pk=person.pk).exists()
    assert not Authenticator.objects.exists()
    signed_in = [one.get_decoded().get("_auth_user_id") for one in Session.objects.all()]
    assert str(person.pk) not in signed_in
    assert client.get(student.to("me")).status_code == 302
    nobody = Member.objects.get(pk=student.pk).person
    assert (nobody.name, nobody.email) == ("", "")
    assert not nobody.is_active
    assert not nobody.has_usable_password()


def test_an_account_of_another_studio_stays_there(cast, stranger, as_member):
    student = cast["student"]
    elsewhere = make.MemberFactory(studio=stranger.studio, person=student.person)
    name = str(elsewhere)
    erase_person(student, cast["teacher"])
    assert str(Member.objects.get(pk=elsewhere.pk)) == name
    assert as_member(elsewhere).get(elsewhere.to("me")).status_code == 200
    assert Member.objects.get(pk=student.pk).person_id != elsewhere.person_id


def test_the_last_teacher_hands_over_first(cast):
    teacher = cast["teacher"]
    with pytest.raises(NotPossible, match="last teacher"):
        erase_person(teacher, teacher)
    with pytest.raises(NotPossible, match="last teacher"):
        erasing.ask_to_be_erased(teacher)


def test_a_teacher_goes_when_they_asked_and_what_they_answered_stays(cast):
    teacher, second = cast["teacher"], make.teacher(studio=cast["teacher"].studio)
    Phrase.objects.create(studio=teacher.studio, teacher=teacher, words="my usual words")
    with pytest.raises(NotPossible, match="once they have asked"):
        erase_person(teacher, second)
    erasing.ask_to_be_erased(teacher)
    teacher.refresh_from_db()
    erase_person(teacher, second)
    answer = Answer.objects.filter(submission__student=cast["student"]).get()
    assert answer.words == "answer QMINEQ"
    assert str(answer.author) == f"No. {teacher.pk}, erased"
    assert not Phrase.objects.exists()


def test_ones_own_hand_only_once_a_teacher_agreed(cast):
    student, teacher = cast["student"], cast["teacher"]
    with pytest.raises(NotPossible, match="must agree"):
        erase_person(student, student)
    erasing.ask_to_be_erased(student)
    erasing.agree(student, teacher)
    erase_person(student, student)
    erase_person(student, student)  # twice is once
    told = JournalEntry.objects.filter(whose=student).values_list("happened", "by", "detail")
    asked = (Happened.ERASURE_ASKED, student.pk, ""), (Happened.ERASURE_ASKED, teacher.pk, "agreed")
    assert set(told) == {*asked, (Happened.ERASED, student.pk, "")}


def test_who_is_in_no_studio_erases_their_account_alone(cast):
    student = cast["student"]
    Member.objects.filter(pk=student.pk).update(left_at=timezone.now())
    erase_account(student.person)
    assert Member.objects.get(pk=student.pk).is_erased
    assert not Person.objects.filter(pk=student.person_id).exists()
