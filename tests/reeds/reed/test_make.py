"""Making reeds: several at once, each with its own number; the last choices are the next defaults."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from reeds.reed import actions
from reeds.reed.models.reed import Reed
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.pattern import Pattern
from studio.errors import NotPossible
from studio.models import Member
from tests import factories as make
from tests.reeds.form import fields_of

DAY = dt.timedelta(days=1)


@pytest.fixture
def address(student) -> str:
    return student.to("reeds:make")


def filled(client: object, address: str, **given: str) -> dict[str, str]:
    fields = fields_of(client.get(address))
    return {**fields, "staple_length": "45", "stage": "tied", **given}


def test_student_makes_three_alike_and_reads_their_numbers_large(student, as_member, address):
    client = as_member(student)
    answer = client.post(address, filled(client, address, count="3"))
    page = client.get(answer.url).content.decode()
    reeds = Reed.objects.filter(owner=student).order_by("number")
    assert [reed.number for reed in reeds] == [1, 2, 3]
    for reed in reeds:
        assert f">{reed.number}</a>" in page.split('class="corks"')[1]
        assert reed.events.get().kind == "made"
        assert reed.version.pattern.style == Pattern.objects.get(pk=reed.version.pattern_id).style


def test_form_sent_twice_makes_once(student, as_member, address):
    client = as_member(student)
    fields = filled(client, address, count="2")
    first, second = (client.post(address, fields) for _tap in range(2))
    assert first.url == second.url
    assert Reed.objects.filter(owner=student).count() == 2
    assert "was sent before" in client.get(second.url).content.decode()


def test_page_gone_back_to_and_filled_otherwise_makes_other_reeds(student, as_member, address):
    client = as_member(student)
    fields = filled(client, address, count="2")
    client.post(address, fields)
    client.post(address, fields | {"shape": "another"})
    client.post(address, fields | {"count": "1"})
    assert [reed.shape for reed in Reed.objects.order_by("number")] == ["", "", "another", "another", ""]


def test_next_form_begins_with_the_last_choices_but_not_with_what_was_felt(student, as_member, address):
    client = as_member(student)
    lot = make.CaneFactory(owner=student, label="bag of May")
    given = {"shape": "narrow", "staple": "brass", "staple_length": "46", "cane": str(lot.pk)}
    long = Pattern.objects.filter(studio=student.studio, style="long")
    client.get(address)
    client.post(address, filled(client, address, flexibility="hard", pattern=str(long.get().pk), **given))
    fields = fields_of(client.get(address))
    assert {key: fields[key] for key in ("shape", "staple", "cane")} == {
        "shape": "narrow",
        "staple": "brass",
        "cane": str(lot.pk),
    }
    assert float(fields["staple_length"]) == 46.0
    assert (fields["pattern"], fields["stage"]) == (str(long.get().pk), "tied")
    assert fields["flexibility"] == "unknown"


def test_blank_tied_weeks_ago_has_rested_since(student, as_member, address):
    client = as_member(student)
    with timezone.override(student.studio.time_zone):
        since = timezone.localtime(timezone.now() - 30 * DAY).strftime("%Y-%m-%dT%H:%M")
    client.post(address, filled(client, address, since=since))
    reed = Reed.objects.get(owner=student)
    assert 29.9 * DAY < reed.rested < 30.1 * DAY
    assert reed.events.get().at == reed.made_at == reed.stage_since


def test_blank_tied_tomorrow_is_refused_and_the_rest_stays(student, as_member, address):
    client = as_member(student)
    since = (timezone.now() + 2 * DAY).strftime("%Y-%m-%dT%H:%M")
    answer = client.post(address, filled(client, address, since=since, shape="a shape of mine"))
    assert answer.status_code == 422
    assert "has not come yet" in answer.content.decode()
    assert "a shape of mine" in answer.content.decode()
    sheet_actions.ready_for(student)
    version = Pattern.objects.filter(studio=student.studio).first().current
    to_come = Reed(studio=student.studio, owner=student, version=version, made_at=timezone.now() + DAY)
    with pytest.raises(NotPossible):
        actions.make_reeds(to_come, student)


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("count", "0", "greater than or equal to 1"),
        ("count", "500", "less than or equal to 20"),
        ("staple_length", "4.5", "Did you mean 45"),
        ("staple_length", "450", "Did you mean 45"),
        ("pattern", "999999", "valid choice"),
        ("stage", "given_up", "valid choice"),
    ],
)
def test_what_cannot_be_is_said_and_the_rest_stays(student, as_member, address, field, typed, sentence):
    client = as_member(student)
    answer = client.post(address, filled(client, address, shape="a shape of mine", **{field: typed}))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "a shape of mine" in answer.content.decode()
    assert not Reed.objects.exists()


def test_the_number_is_proposed_and_another_can_be_chosen_but_none_that_was_used(student, as_member, address):
    client = as_member(student)
    proposed, late = filled(client, address), filled(client, address)
    assert proposed["number"] == "1"
    for fields in (proposed, late):  # two pages proposed the same: the second takes the next one
        client.post(address, fields)
    client.post(address, filled(client, address, number="17", count="2"))
    assert sorted(student.reeds.values_list("number", flat=True)) == [1, 2, 17, 18]
    actions.take_out(student.reeds.get(number=18))
    for typed, sentence in (
        ("16", ""),
        ("18", "never used twice"),
        ("12345", "four digits"),
        ("-1", "than or"),
    ):
        fields = filled(client, address, number=typed, count="1", shape="a shape of mine")
        answers = [client.post(address, fields) for _tap in range(2)]
        assert [one.status_code for one in answers] == [422 if sentence else 302] * 2, typed
        assert not sentence or (sentence in answers[0].text and "a shape of mine" in answers[0].text)
    assert student.reeds.count() == 5


def test_a_reed_has_a_staple_by_which_its_lengths_are_judged(student, as_member, address):
    client = as_member(student)
    fields = filled(client, address)
    del fields["staple_length"]
    assert "Choose its staple" in client.post(address, fields).text
    assert not Reed.objects.exists()
    client.post(address, fields | {"staple_other": "46,5"})
    assert student.reeds.get().staple_length == 46.5
    assert 'value="46.5"' in client.get(address).text


def test_a_reed_just_made_leads_on_to_its_draft(student, teacher, as_member, address):
    client = as_member(student)
    page = client.get(client.post(address, filled(client, address)).url).text
    assert student.to("lessons:draft", student.reeds.get().pk) in page
    for then, more in (("send", ""), ("photo", "#with-photo")):
        answer = client.post(f"{address}?then={then}", filled(client, address))
        assert answer.url == student.to("lessons:draft", student.reeds.first().pk) + more
    theirs = teacher.to("reeds:make") + f"?for={student.pk}&then=send"
    assert "/made/" in as_member(teacher).post(theirs, filled(as_member(teacher), theirs)).url


def test_numbers_go_on_after_the_highest_ever_even_if_it_was_taken_out(student, other_student):
    version = make.VersionFactory(pattern__studio=student.studio)

    def made(owner: Member, count: int) -> list[int]:
        reed = Reed(studio=owner.studio, owner=owner, version=version)
        return [one.number for one in actions.make_reeds(reed, owner, count)]

    assert made(student, 2) == [1, 2]
    actions.take_out(Reed.objects.get(owner=student, number=2))
    assert made(student, 2) == [3, 4]
    assert made(other_student, 1) == [1]


def test_teacher_makes_a_reed_for_a_student(teacher, student, as_member):
    client, address = as_member(teacher), teacher.to("reeds:make") + f"?for={student.pk}"
    answer = client.post(address, filled(client, address))
    reed = Reed.objects.get()
    assert (reed.owner, reed.number, reed.events.get().by) == (student, 1, teacher)
    assert str(student) in client.get(answer.url).content.decode()


def test_teachers_model_reed_belongs_to_the_teacher(teacher, as_member):
    client, address = as_member(teacher), teacher.to("reeds:make")
    client.post(address, filled(client, address, is_model="on"))
    reed = Reed.objects.get()
    assert (reed.owner, reed.is_model) == (teacher, True)


def test_student_makes_none_for_another_and_no_model(student, other_student, stranger, as_member, address):
    client = as_member(student)
    for other in (other_student, stranger):
        assert client.post(f"{address}?for={other.pk}", {"stage": "tied"}).status_code == 404
    client.post(address, filled(client, address, is_model="on"))
    assert not Reed.objects.get(owner=student).is_model


def test_teacher_makes_none_for_a_strangers_student(teacher, stranger, as_member):
    theirs = make.student(studio=stranger.studio)
    for whom in (theirs.pk, "x", 10**6):
        assert as_member(teacher).get(teacher.to("reeds:make") + f"?for={whom}").status_code == 404


def test_cane_of_a_fellow_student_is_no_choice_but_the_teachers_is(
    student, other_student, teacher, as_member, address
):
    client = as_member(student)
    theirs, handed_out = make.CaneFactory(owner=other_student), make.CaneFactory(owner=teacher)
    fields = filled(client, address)
    assert client.post(address, fields | {"cane": str(theirs.pk)}).status_code == 422
    assert client.post(address, fields | {"cane": str(handed_out.pk)}).status_code == 302


def test_made_page_is_not_there_for_others(student, other_student, stranger, as_member):
    reed = make.ReedFactory(owner=student)
    for member in (other_student, stranger):
        assert as_member(member).get(member.to("reeds:made", reed.batch)).status_code == 404
    assert as_member(student).get(student.to("reeds:made", reed.batch)).status_code == 200


def test_wrong_methods_are_refused(student, as_member, address):
    client, reed = as_member(student), make.ReedFactory(owner=student)
    assert client.delete(address).status_code == 405
    assert client.post(student.to("reeds:made", reed.batch)).status_code == 405
