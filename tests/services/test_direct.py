"""Photos and recordings put into the bucket by the browser itself: where we say, once, looked at by us."""

import datetime as dt
import io
import uuid
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from django.core.management import call_command
from django.utils import timezone
from PIL import Image

from lessons.sending import actions as sending
from reeds.photo.models.photo import Photo, PhotoState
from reeds.sweep import sweep
from reeds.take.models import Take, TakeState
from tests import factories as make
from tests.services.conftest import names_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("bucket")]
HTMX = {"HTTP_HX_REQUEST": "true"}


def asked(phone, reed, data, kind="photo", content_type="image/jpeg", key=None):
    sent = {f"{kind}-key": str(key or uuid.uuid4()), "place": len(data), "type": content_type}
    return phone.post(reed.owner.to(f"lessons:{kind}", reed.pk), sent, **HTMX)


def put(place, data, **changed):
    """Send a file there as a browser does; return the status."""
    out, line = io.BytesIO(), uuid.uuid4().hex
    for name, value in {**place["fields"], **changed}.items():
        out.write(f'--{line}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode())
    out.write(f'--{line}\r\nContent-Disposition: form-data; name="file"; filename="a"\r\n\r\n'.encode())
    out.write(data + f"\r\n--{line}--\r\n".encode())
    headers = {"Content-Type": f"multipart/form-data; boundary={line}"}
    try:
        with urlopen(Request(place["url"], out.getvalue(), headers)) as answer:  # noqa: S310
            return answer.status
    except HTTPError as error:
        with error:
            return error.code


def told(phone, reed, data, place, kind="photo", key=None, **more):
    told = {
        f"{kind}-key": str(key or uuid.uuid4()),
        f"{kind}-size": len(data),
        f"{kind}-ticket": place["ticket"],
    }
    return phone.post(reed.owner.to(f"lessons:{kind}", reed.pk), {**told, **more}, **HTMX)


def test_a_photo_goes_past_us_and_is_kept_once(phone, reed, bucket, at_once):
    data, key = make.picture(2000, 1500), uuid.uuid4()
    answer = asked(phone, reed, data, key=key)
    assert answer.status_code == 202
    place = answer.json()
    assert not Photo.objects.exists()
    assert put(place, data) == 204
    for _told_twice in range(2):
        assert told(phone, reed, data, place, key=key).status_code == 200
    photo = Photo.objects.get()
    assert (photo.state, photo.size_bytes) == (PhotoState.READY, len(data))
    assert names_in(bucket) == sorted(str(file.name) for file in photo.files)
    with bucket.open(photo.upright.name) as file:
        assert Image.open(file).size == (2000, 1500)
    # the place is empty now, and a ticket that was used brings nothing more
    assert told(phone, reed, data, place).status_code == 400
    assert asked(phone, reed, data, key=key).status_code == 200


def test_a_recording_goes_that_way_too(phone, student, bucket, at_once):
    reed, data = make.ReedFactory(owner=student, stage="playing"), make.tone()
    place = asked(phone, reed, data, "take", "audio/wav").json()
    assert put(place, data) == 204
    item = reed.version.test[0].key
    assert told(phone, reed, data, place, "take", item=item).status_code == 200
    take = Take.objects.get()
    assert (take.state, take.content_type) == (TakeState.READY, "audio/wav")
    assert names_in(bucket) == [take.file.name]


def test_only_a_file_of_that_size_comes_there_and_only_there(phone, reed, bucket):
    data = make.picture(400, 300)
    place = asked(phone, reed, data).json()
    assert put(place, data + b"more") in (400, 403)
    assert put(place, data, key=f"{bucket.location}/photos/1/elsewhere.jpg") in (400, 403)
    assert put(place, data, **{"Content-Type": "text/html"}) in (400, 403)
    assert names_in(bucket) == []
    assert told(phone, reed, data, place).status_code == 400
    for size in (0, 26 * 1024 * 1024, "many", "9" * 5000):
        sent = {"photo-key": str(uuid.uuid4()), "place": size, "type": "image/jpeg"}
        assert phone.post(reed.owner.to("lessons:photo", reed.pk), sent, **HTMX).status_code == 204


def test_what_is_no_picture_is_refused_as_ever_and_goes_with_the_sweep(phone, reed, bucket):
    data = b"no picture at all"
    place = asked(phone, reed, data).json()
    assert put(place, data) == 204
    answer = told(phone, reed, data, place)
    assert (answer.status_code, b"not a picture" in answer.content) == (422, True)
    assert not Photo.objects.exists()
    assert len(names_in(bucket)) == 1
    assert sweep() == 0
    assert sweep(timezone.now() + dt.timedelta(days=2)) == 1
    assert names_in(bucket) == []


def test_anothers_ticket_brings_nothing(phone, as_member, reed, other_student, stranger):
    data = make.picture()
    place = asked(phone, reed, data).json()
    assert put(place, data) == 204
    own = make.ReedFactory(owner=other_student)
    assert told(as_member(other_student), own, data, place).status_code == 400
    assert told(as_member(stranger), reed, data, place).status_code == 404
    forged = {**place, "ticket": place["ticket"][:-1] + ("a" if place["ticket"][-1] != "a" else "b")}
    assert told(phone, reed, data, forged).status_code == 400
    assert asked(as_member(stranger), reed, data).status_code == 404
    assert not Photo.objects.exists()


def test_no_place_is_given_for_what_would_not_be_taken(phone, as_member, reed, student, teacher):
    data = make.picture()
    young = make.student(studio=teacher.studio, under_age=True)
    refused = asked(as_member(young), make.ReedFactory(owner=young), data)
    assert refused.status_code == 422
    draft = sending.draft_of(reed, student)
    draft.photos.set([make.ready_photo(reed) for _photo in range(sending.MAX_PHOTOS)])
    assert asked(phone, reed, data).status_code == 422


def test_the_page_says_that_it_may_and_without_a_bucket_it_may_not(phone, reed, settings):
    address = reed.owner.to("lessons:draft", reed.pk)
    assert b" data-direct " in phone.get(address).content
    settings.S3_BUCKET = ""
    assert b" data-direct " not in phone.get(address).content
    assert asked(phone, reed, make.picture()).status_code == 204


def test_the_bucket_is_made_ready_by_a_command(settings, service, capsys):
    settings.S3_BUCKET = "of-another-studio"
    settings.SITE_ADDRESS = "https://reeds.example.org"
    for _twice in range(2):
        call_command("bucket")
    assert "is ready" in capsys.readouterr().out
    (rule,) = service.client().get_bucket_cors(Bucket="of-another-studio")["CORSRules"]
    assert (rule["AllowedOrigins"], rule["AllowedMethods"]) == (["https://reeds.example.org"], ["POST"])
