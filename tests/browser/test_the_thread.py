"""The thin thread: one reed, one photo, one number, one finding, one mark, one answer, one line of the term."""

import re

import pytest
from playwright.sync_api import expect

from tests import factories as make


@pytest.fixture
def photo_file(tmp_path):
    file = tmp_path / "reed.jpg"
    file.write_bytes(make.picture(800, 600))
    return file


def test_pages_open(live_server, phone, sign_in, student, axe):
    sign_in(phone, student)
    phone.goto("/")
    expect(phone.get_by_role("heading", level=1)).to_have_text("My desk")
    axe(phone)
