"""An upload whose row is there and whose task is not: its file stays, and sent again it is worked through."""

import uuid
from types import SimpleNamespace

import pytest
from django.core.files.base import ContentFile
from django.db import OperationalError

from reeds.photo.actions.photo import add_photo
from reeds.photo.models.photo import Photo, PhotoState
from tests import factories as make

pytestmark = pytest.mark.django_db(transaction=True)


def sent(reed, key):
    return add_photo(reed, reed.owner, ContentFile(make.picture(), "a.jpg"), key)


def fails(_pk):
    raise OperationalError("database is locked")


def test_an_upload_whose_task_could_not_be_queued_loses_no_file_and_is_queued_when_sent_again(monkeypatch):
    """The kill run found photos that were acknowledged and waited for ever, their files deleted."""
    reed, key = make.ReedFactory(), uuid.uuid4()
    with monkeypatch.context() as locked:
        locked.setattr("reeds.photo.actions.photo.prepare_photo", SimpleNamespace(enqueue=fails))
        with pytest.raises(OperationalError):
            sent(reed, key)
    photo = Photo.objects.get()
    assert photo.raw.storage.exists(photo.raw.name)
    sent(reed, key)
    assert Photo.objects.get().state == PhotoState.READY
