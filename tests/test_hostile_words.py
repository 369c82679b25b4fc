"""What people write is shown as they wrote it: markup in any of their words reaches no page as markup."""

from __future__ import annotations

import html

import pytest
from django.apps import apps
from django.db import DatabaseError, models, transaction
from django.test import Client

from tests.world import KNOWN, World

pytestmark = pytest.mark.django_db
HOSTILE = "<b id=x>'\"&{{7}}"
# names and codes of ours, of closed lists
NOT_WORDS = {
    "username",
    "password",
    "time_zone",
    "digest",
    "content_type",
    "sound_type",
    "format",
    "language",
}
NOT_WORDS |= {"looked_for", "bar_method", "quantity", "computed_from", "item", "about", "outcome", "factor"}
NOT_WORDS |= {"lot", "one", "other", "unit", "word"}
HOUSES = ("studio", "reeds", "lessons")


def fields_of_words():
    """Each model of ours with the names of its fields that hold words of people."""
    for model in (one for house in HOUSES for one in apps.get_app_config(house).get_models()):
        fields = [
            one for one in model._meta.get_fields() if type(one) in (models.CharField, models.TextField)
        ]
        names = [one.name for one in fields if not one.choices and one.editable and one.name not in NOT_WORDS]
        if names and model._meta.label not in ("studio.JournalEntry", "studio.SentForm"):
            yield model, names


def write_everywhere():
    """Put the hostile words into every row there is; return how many fields took them."""
    took = 0
    for model, names in fields_of_words():
        for name in names:
            try:
                with transaction.atomic():
                    took += model._base_manager.update(**{name: HOSTILE})
            except DatabaseError:
                pass  # a rule of the database keeps other words out
    return took


def test_no_page_shows_anybodys_words_as_markup():
    world = World()
    assert write_everywhere() > 40
    shown = 0
    for member in (world.student, world.teacher):
        client = Client()
        client.force_login(member.person)
        for address in KNOWN:
            answer = client.get(address.of(world))
            if answer.streaming:
                list(answer.streaming_content)  # read to the end, which closes the file
            if answer.streaming or not answer.headers["Content-Type"].startswith("text/html"):
                continue
            page = answer.content.decode(errors="replace")
            assert "<b id=x>" not in page, address.name
            assert "&#x27;&quot;&amp;7" not in page, address.name  # nor was it taken for a template
            shown += html.escape(HOSTILE) in page
    assert shown > 60
