"""The small photo beside a number: the newest that may be shown, for any number of reeds by one query."""

import pytest
from django.utils import timezone

from reeds.photo.actions.photo import erase_photos
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.thumbs import with_thumbs
from tests import factories as make


@pytest.fixture
def reeds(student):
    first = make.ReedFactory(owner=student, number=101)
    return [first, *(make.ReedFactory(owner=student, number=n, version=first.version) for n in (102, 103))]


def thumbs(member, reeds):
    return [reed.thumb for reed in with_thumbs(member, reeds)]


def test_the_newest_that_is_ready_is_taken(student, reeds):
    first, second = make.ready_photo(reeds[0]), make.ready_photo(reeds[0])
    refused = make.ready_photo(reeds[0])
    Photo.objects.filter(pk=refused.pk).update(state=PhotoState.REFUSED, thumbnail="")
    other = make.ready_photo(reeds[2])
    assert thumbs(student, reeds) == [second.pk, None, other.pk]
    Photo.objects.filter(pk=second.pk).update(taken_back_at=timezone.now())
    assert thumbs(student, reeds) == [first.pk, None, other.pk]
    erase_photos(Photo.objects.filter(pk=first.pk), timezone.now())
    assert thumbs(student, reeds) == [None, None, other.pk]


def test_nobody_is_shown_what_they_may_not_see(student, other_student, teacher, stranger, reeds):
    photo = make.ready_photo(reeds[0])
    shown = [thumbs(who, reeds[:1]) for who in (student, teacher, other_student, stranger)]
    assert shown == [[photo.pk], [photo.pk], [None], [None]]


def test_a_guardian_is_shown_their_childs_until_the_consent_is_taken_back(student, reeds):
    student.under_age, student.guardian_consent_on = True, make.today()
    student.save()
    guardian = make.guardian(student)
    photo = make.ready_photo(reeds[0])
    assert thumbs(guardian, reeds[:1]) == [photo.pk]
    student.guardian_consent_withdrawn_at = timezone.now()
    student.save()
    assert [thumbs(who, reeds[:1]) for who in (guardian, student)] == [[None], [None]]


def test_it_is_one_query_for_all(student, reeds, django_assert_num_queries):
    for reed in reeds:
        make.ready_photo(reed)
    with django_assert_num_queries(1):
        assert all(thumbs(student, reeds))


def test_lists_box_and_desk_show_it_in_a_square_that_is_there_before_it(as_member, student, reeds):
    photo = make.ready_photo(reeds[0])
    type(reeds[0]).objects.filter(pk=reeds[0].pk).update(stage="tied", stage_since="2026-01-02T12:00Z")
    make.SubmissionFactory(reed=reeds[0], sent_at=timezone.now())
    source = f'src="{student.to("reeds:photo", photo.pk, "thumbnail")}"'
    for page, times in (("reeds:reeds", 1), ("reeds:box", 1), ("lessons:desk", 2)):
        text = as_member(student).get(student.to(page)).content.decode()
        assert text.count(source) == times, page
        assert text.count('width="56" height="56"') == times
        assert text.count('loading="lazy"') == times
