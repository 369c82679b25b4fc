"""The page of what is kept: open to all, with a studio's times for its people, led to from each page."""

from __future__ import annotations

import pytest
from django.test import Client

from studio.models import Invitation, Studio

pytestmark = pytest.mark.django_db


def text(answer):
    return " ".join(answer.content.decode().split())


def test_everybody_reads_it_and_members_with_the_times_of_their_studio(student, as_member, settings):
    settings.BACKUP_DIR, settings.BACKUP_KEEP = "somewhere", 5
    open_to_all = text(Client().get("/kept/"))
    assert "comes first" in open_to_all
    assert "as long as your studio says" in open_to_all
    assert "400 days" in open_to_all
    assert "the last 5, one a day" in open_to_all
    client, path = as_member(student), student.to("lessons:kept")
    assert "in this studio" not in text(client.get(path))
    Studio.objects.filter(pk=student.studio_id).update(keep_pictures_months=24)
    page = text(client.get(path))
    assert "2 years in this studio" in page
    assert student.to("lessons:erase_me") in page


def test_the_way_to_it_stands_on_each_page_and_before_one_joins(teacher, student, as_member):
    invitation = Invitation.objects.create(studio=teacher.studio, invited_by=teacher, name="Somebody")
    for path in ("/account/login/", invitation.get_absolute_url()):
        main = text(Client().get(path)).split("<main")[1]
        assert main.count('href="/kept/"') == 2, path  # beside the form, and at the foot
    assert student.to("lessons:kept") in text(as_member(student).get(student.to("me")))
