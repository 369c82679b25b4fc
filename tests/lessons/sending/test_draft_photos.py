"""The photos of a draft: sent one by one with a key, named, removed; what is refused says why."""

import uuid
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction

from lessons.sending import actions
from lessons.sending.models import Submission
from lessons.sending.typed import Round, Save
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.measurement import Measurement
from tests import factories as make

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student)


@pytest.fixture
def draft(reed, student):
    return actions.draft_of(reed, student)


@pytest.fixture
def phone(as_member, student):
    return as_member(student)


@pytest.fixture(autouse=True)
def the_worker_runs_at_once(monkeypatch):
    """A test's transaction is never committed, so what waits for that is done at once."""
    monkeypatch.setattr(transaction, "on_commit", lambda act, **_more: act())


def sent(data=None, key=None, of_round=None):
    file = SimpleUploadedFile("reed.jpg", make.picture() if data is None else data, content_type="image/jpeg")
    on_page = {"key": str(of_round.key)} if of_round else {}
    return {"photo": file, "photo-key": str(key or uuid.uuid4()), **on_page}


def upload(phone, reed, **given):
    return phone.post(reed.owner.to("lessons:photo", reed.pk), sent(**given), **HTMX)


def to(draft, name, photo):
    return draft.student.to(name, draft.reed_id, photo.pk)


def test_a_photo_is_kept_and_shown(phone, reed, draft):
    answer = upload(phone, reed)
    [photo] = draft.photos.all()
    assert answer.status_code == 200
    assert f'src="{reed.owner.to("reeds:photo", photo.pk, "thumbnail")}"' in answer.content.decode()
    assert not photo.raw


def test_the_same_key_twice_keeps_one_also_after_the_round_was_sent(phone, reed, draft):
    key = uuid.uuid4()
    for _try in range(2):
        assert upload(phone, reed, key=key).status_code == 200
    phone.post(reed.owner.to("lessons:go", reed.pk), {"key": draft.key})
    again = upload(phone, reed, key=key, of_round=draft)
    assert again.status_code == 200
    assert Photo.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"no picture", "not a picture"),
        (b"", "empty"),
        (make.picture(format="GIF"), "not a picture"),
        (make.picture() + b"\0" * 25 * 1024 * 1024, "25 MB"),
    ],
)
def test_what_is_refused_says_why_and_the_rest_stays(data, words, phone, reed, draft):
    phone.post(reed.owner.to("lessons:save", reed.pk), {"tie_length": "72"})
    upload(phone, reed)
    answer = upload(phone, reed, data=data)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    draft.refresh_from_db()
    assert draft.draft == {"tie_length": "72"}
    assert draft.photos.count() == 1


def test_a_damaged_photo_says_so_when_it_is_prepared(phone, reed, draft):
    answer = upload(phone, reed, data=make.picture(800, 600)[:-1500])
    assert answer.status_code == 200
    assert "damaged" in answer.content.decode()


def test_refused_photos_alone_are_not_sent(phone, reed, draft):
    upload(phone, reed, data=make.picture(800, 600)[:-1500])
    assert phone.post(reed.owner.to("lessons:go", reed.pk), {}).status_code == 422


def test_photos_alone_are_sent(phone, reed, draft):
    upload(phone, reed)
    assert phone.post(reed.owner.to("lessons:go", reed.pk), {}).status_code == 302
    draft.refresh_from_db()
    assert draft.sent_at


def test_a_ninth_photo_is_one_too_many(phone, reed, draft):
    for _ in range(8):
        draft.photos.add(make.ready_photo(reed))
    answer = upload(phone, reed)
    assert answer.status_code == 422
    assert "8 photos" in answer.content.decode()
    assert Photo.objects.count() == 8


def test_without_consent_the_page_says_so_before_a_photo_is_chosen_and_takes_none(
    phone, reed, student, draft
):
    type(student).objects.filter(pk=student.pk).update(under_age=True)
    page = phone.get(student.to("lessons:draft", reed.pk)).content.decode()
    assert "guardian" in page
    assert 'type="file"' not in page
    assert upload(phone, reed).status_code == 422
    assert not Photo.objects.exists()


def test_with_consent_photos_are_taken(phone, reed, student, draft):
    type(student).objects.filter(pk=student.pk).update(under_age=True, guardian_consent_on="2026-01-01")
    assert upload(phone, reed).status_code == 200


def test_no_photo_and_no_key_are_said_in_a_sentence(phone, reed):
    address = reed.owner.to("lessons:photo", reed.pk)
    assert phone.post(address, {"photo-key": str(uuid.uuid4())}, **HTMX).status_code == 422
    assert phone.post(address, sent() | {"photo-key": "nine"}, **HTMX).status_code == 422


def test_a_photo_for_a_round_that_was_sent_meanwhile_goes_with_the_next(phone, reed, draft):
    phone.post(reed.owner.to("lessons:go", reed.pk), {"question": "?", "key": draft.key})
    answer = upload(phone, reed, of_round=draft)
    assert answer.status_code == 409
    assert "next round" in answer.content.decode()
    assert not draft.photos.exists()
    assert not Photo.objects.exists()


def test_without_a_script_all_chosen_photos_come_at_once_and_nothing_typed_is_lost(phone, reed, draft):
    files = [SimpleUploadedFile("a.jpg", make.picture()), SimpleUploadedFile("b.jpg", b"no picture")]
    data = {"photo": files, "tie_length": "72", "question": "kept?"}
    answer = phone.post(reed.owner.to("lessons:photo", reed.pk), data)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "b.jpg: This is not a picture" in page
    assert "kept?" in page
    assert 'value="72"' in page
    assert draft.photos.count() == 1


def test_a_photo_is_named_by_where_it_was_seen_from(phone, reed, draft):
    draft.photos.add(photo := make.ready_photo(reed))
    assert (
        phone.post(to(draft, "lessons:photo_view", photo), {f"view-{photo.pk}": "opening"}).status_code == 204
    )
    photo.refresh_from_db()
    assert photo.view == "opening"
    assert phone.post(to(draft, "lessons:photo_view", photo), {f"view-{photo.pk}": "moon"}).status_code == 409


def test_a_photo_is_removed_with_its_files(phone, reed, draft):
    draft.photos.add(photo := make.ready_photo(reed))
    answer = phone.post(to(draft, "lessons:photo_remove", photo), {}, **HTMX)
    assert (answer.status_code, answer.content) == (200, b"")
    assert not draft.photos.exists()
    assert not photo.screen.storage.exists(photo.screen.name)


def test_a_photo_removed_does_not_come_back_by_a_late_second_try(phone, reed, draft):
    key = uuid.uuid4()
    upload(phone, reed, key=key)
    phone.post(to(draft, "lessons:photo_remove", draft.photos.get()), {}, **HTMX)
    answer = upload(phone, reed, key=key)
    assert answer.status_code == 422
    assert "removed" in answer.content.decode()
    assert not draft.photos.exists()


@pytest.mark.parametrize("name", ["photo_view", "photo_remove"])
def test_a_photo_of_a_round_that_was_sent_stays_as_it_is(name, phone, reed, draft):
    draft.photos.add(photo := make.ready_photo(reed))
    phone.post(reed.owner.to("lessons:go", reed.pk), {"key": draft.key})
    data = {f"view-{photo.pk}": "side", "key": str(draft.key)}
    assert phone.post(to(draft, f"lessons:{name}", photo), data).status_code == 409
    photo.refresh_from_db()
    assert (photo.view, photo.taken_back_at) == ("", None)
    assert draft.photos.count() == 1


@pytest.mark.parametrize("name", ["photo_view", "photo_remove"])
def test_others_find_no_such_photo(name, reed, draft, as_member, other_student, stranger, teacher):
    draft.photos.add(photo := make.ready_photo(reed))
    for who in (other_student, stranger, teacher):
        assert as_member(who).post(to(draft, f"lessons:{name}", photo)).status_code == 404
    assert as_member(reed.owner).get(to(draft, f"lessons:{name}", photo)).status_code == 405


def test_a_photo_of_another_reed_is_not_of_this_draft(phone, reed, draft, student):
    other = make.ready_photo(make.ReedFactory(owner=student, version=reed.version))
    assert phone.post(to(draft, "lessons:photo_remove", other)).status_code == 404


def test_the_page_asks_until_a_photo_is_ready_and_then_stops(phone, reed, student):
    photo = make.ready_photo(reed)
    address = student.to("lessons:prepared", photo.pk)
    Photo.objects.update(state=PhotoState.WAITING)
    waits = phone.get(address, {"tries": "3"}).content.decode()
    assert "tries=4" in waits
    assert "delay:3s" in waits
    assert "hx-get" not in phone.get(address, {"tries": "24"}).content.decode()
    Photo.objects.update(state=PhotoState.READY)
    ready = phone.get(address, {"tries": "nonsense"}).content.decode()
    assert "<img" in ready
    assert "hx-get" not in ready


def test_how_far_a_photo_is_is_nobody_elses(reed, as_member, other_student, stranger):
    photo = make.ready_photo(reed)
    for who in (other_student, stranger):
        assert as_member(who).get(reed.owner.to("lessons:prepared", photo.pk)).status_code == 404


def test_what_was_typed_is_kept_when_a_photo_is_removed_without_a_script(phone, reed, draft):
    draft.photos.add(photo := make.ready_photo(reed))
    answer = phone.post(to(draft, "lessons:photo_remove", photo), {"tie_length": "72"})
    assert answer.status_code == 302
    assert Submission.objects.get().draft == {"tie_length": "72"}


def test_a_photo_that_arrives_while_the_round_is_sent_leaves_nothing_behind(reed, draft, student, settings):
    stale = Submission.objects.get(pk=draft.pk)
    actions.send(draft, Save({}), lambda _draft: Round([], {}, 3, []))
    with pytest.raises(actions.SentMeanwhile):
        actions.attach_photo(stale, student, sent()["photo"], uuid.uuid4())
    assert not draft.photos.exists()
    assert not Photo.objects.visible_to(student).exists()
    assert not [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


# --- whether it came, and the original of one that came smaller ---


def ask(phone, reed, key):
    return phone.post(reed.owner.to("lessons:photo", reed.pk), {"photo-key": str(key), "ask": "1"}, **HTMX)


def test_a_phone_that_heard_no_answer_asks_before_it_sends_again(phone, reed, draft):
    key = uuid.uuid4()
    assert ask(phone, reed, key).status_code == 204
    upload(phone, reed, key=key)
    answer = ask(phone, reed, key)
    assert answer.status_code == 200
    assert f'id="photo-{key}"' in answer.content.decode()


def test_a_second_try_that_comes_while_the_round_is_sent_takes_nothing_back(reed, draft, phone):
    """Both looked before either had come; the first is kept, the round sent, then the second goes on."""
    key, stale = uuid.uuid4(), Submission.objects.get(pk=draft.pk)
    upload(phone, reed, key=key)
    phone.post(reed.owner.to("lessons:go", reed.pk), {"key": draft.key})
    again = actions.attach_photo(stale, reed.owner, sent()["photo"], key)
    assert again.taken_back_at is None
    assert again == draft.photos.get()


def test_one_that_was_cut_off_on_its_way_is_not_taken(phone, reed, draft):
    data = make.picture()
    cut = {**sent(data[: len(data) // 2]), "photo-size": str(len(data))}
    where = reed.owner.to("lessons:photo", reed.pk)
    assert phone.post(where, cut, **HTMX).status_code == 400
    assert not Photo.objects.exists()
    assert phone.post(where, {**sent(data), "photo-size": str(len(data))}, **HTMX).status_code == 200


def better(phone, reed, key, data, **more):
    return phone.post(
        reed.owner.to("lessons:photo", reed.pk), {**sent(data, key, **more), "better": "1"}, **HTMX
    )


def small_one(phone, reed, draft):
    key = uuid.uuid4()
    upload(phone, reed, key=key, data=make.picture(400, 300))
    return draft.photos.get(key=key)


def test_the_original_takes_the_place_of_a_smaller_one_also_after_it_was_sent(phone, reed, draft):
    photo = small_one(phone, reed, draft)
    old = photo.upright.path
    phone.post(reed.owner.to("lessons:go", reed.pk), {"key": draft.key})
    for _twice in range(2):
        answer = better(phone, reed, photo.key, make.picture(800, 600), of_round=draft)
        assert (answer.status_code, answer.text) == (200, "")
        photo.refresh_from_db()
        assert (photo.width, photo.height, photo.state, photo.raw.name) == (800, 600, PhotoState.READY, "")
    assert not Path(old).exists()
    assert Path(photo.upright.path).exists()
    assert Submission.objects.get().photos.get() == photo


@pytest.mark.parametrize("size", [(800, 800), (200, 150)])
def test_what_is_no_larger_picture_of_the_same_changes_nothing(phone, reed, draft, size):
    photo = small_one(phone, reed, draft)
    assert better(phone, reed, photo.key, make.picture(*size) + b" " * 9000).status_code == 200
    assert (photo.width, photo.height) == (400, 300)
    photo.refresh_from_db()
    assert (photo.width, photo.raw.name) == (400, "")
    assert Path(photo.upright.path).exists()


def test_one_that_was_measured_on_stays_as_it_is(phone, reed, draft):
    photo = small_one(phone, reed, draft)
    Measurement.objects.create(
        studio=reed.studio, reed=reed, quantity="tie_length", value=72.0, u=0.1, photo=photo
    )
    answer = better(phone, reed, photo.key, make.picture(800, 600))
    assert answer.status_code == 200
    assert f"Reed {reed.number}: the smaller photo stays." in answer.text
    photo.refresh_from_db()
    assert (photo.width, photo.raw.name) == (400, "")


def test_an_original_comes_again_later_or_is_dropped(phone, reed, draft, monkeypatch):
    assert better(phone, reed, uuid.uuid4(), make.picture()).status_code == 410
    photo = small_one(phone, reed, draft)
    Photo.objects.update(state=PhotoState.WAITING)
    assert better(phone, reed, photo.key, make.picture(800, 600)).status_code == 503
    Photo.objects.update(state=PhotoState.READY)
    assert better(phone, reed, photo.key, b"no picture").status_code == 422


def test_points_of_the_smaller_picture_are_not_taken_for_the_original(phone, reed, draft):
    photo = small_one(phone, reed, draft)
    for name in ("figures", "keep_lengths"):
        given = {"points": "{}", "scale": "card", "picture_width": "300"}
        answer = phone.post(reed.owner.to(f"reeds:{name}", photo.pk), given, **HTMX)
        assert "came meanwhile" in answer.content.decode()
