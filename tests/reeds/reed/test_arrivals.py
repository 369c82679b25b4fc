"""An upload, its row and its task: all are there, or none; sent again it is worked through."""

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


def test_of_an_upload_whose_task_could_not_be_queued_nothing_stays_and_sent_again_it_is_whole(monkeypatch):
    """The kill run found photos that were acknowledged and waited for ever, their files deleted."""
    reed, key = make.ReedFactory(), uuid.uuid4()
    stored = Photo._meta.get_field("raw").storage
    kept, save = [], stored.save
    with monkeypatch.context() as locked:
        locked.setattr("reeds.photo.actions.photo.prepare_photo", SimpleNamespace(enqueue=fails))
        locked.setattr(stored, "save", lambda *a, **k: kept.append(save(*a, **k)) or kept[-1])
        with pytest.raises(OperationalError):
            sent(reed, key)
    assert not Photo.objects.exists()
    assert [stored.exists(name) for name in kept] == [False]
    sent(reed, key)
    assert Photo.objects.get().state == PhotoState.READY
