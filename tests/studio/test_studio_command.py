"""A studio from nothing, by one command."""

from __future__ import annotations

import io
import re

import pytest
from django.core.management import CommandError, call_command

from studio.models import Member, Person, Studio
from tests import factories as make


def run(*given):
    said = io.StringIO()
    call_command("studio", *given, stdout=said)
    return said.getvalue()


def test_first_teacher_gets_a_link_chooses_a_password_and_can_invite(client, db, settings):
    settings.SITE_ADDRESS = "https://reeds.example.org"
    said = run("The studio", "--teacher", "Ruth", "--name", "Ruth L")
    path = re.search(r"https://reeds\.example\.org(/sign-in/\S+)", said).group(1)
    assert client.get(path).status_code == 200
    client.post(path, {"password": "cane and thread and wax"})
    teacher = Member.objects.get()
    assert (teacher.teaches, teacher.person.username, str(teacher)) == (True, "ruth", "Ruth L")
    assert client.get(teacher.to("invite")).status_code == 200
    assert client.get(path).status_code == 410


def test_nobody_signs_in_as_the_teacher_before_the_link_is_used(db):
    run("The studio", "--teacher", "ruth")
    assert not Person.objects.get().has_usable_password()


def test_somebody_known_opens_another_studio_and_keeps_the_password(db):
    person = make.PersonFactory(username="ruth")
    said = run("Second studio", "--teacher", "RUTH")
    assert "/sign-in/" not in said
    assert Member.objects.get().person == person


@pytest.mark.parametrize(
    ("name", "teacher"), [("", "ruth"), ("x" * 81, "ruth"), ("Studio", "a b"), ("Studio", "a@example.org")]
)
def test_bad_names_are_refused_and_nothing_is_left_behind(db, name, teacher):
    with pytest.raises(CommandError):
        run(name, "--teacher", teacher)
    assert not Studio.objects.exists()
    assert not Person.objects.exists()


def test_command_needs_a_teacher(db):
    with pytest.raises(CommandError, match="--teacher"):
        run("The studio")
