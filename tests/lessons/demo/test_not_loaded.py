"""Where the demo is not loaded: in production, beside another studio, over somebody's user name."""

import pytest
from django.core.management import CommandError, call_command

from studio.models import Studio
from tests import factories as make


def test_it_is_not_loaded_in_production(db, settings):
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="known to all"):
        call_command("demo")


def test_a_taken_user_name_is_said(db):
    make.PersonFactory(username="teacher")
    with pytest.raises(CommandError, match="they are taken: teacher"):
        call_command("demo")


def test_where_there_is_a_studio_none_is_added(db):
    make.StudioFactory()
    call_command("demo", if_empty=True)
    assert Studio.objects.count() == 1
