"""Settings that contradict each other are told in one sentence."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from studio.checks import RULES, settings_agree
from studio.environment import Environment, secret_key

GOOD = {
    "PRODUCTION": True,
    "SECRET_KEY": "0123456789abcdefghijklmnopqrstuvwxyz" * 2,
    "DEBUG": False,
    "HTTPS": True,
    "SITE_ADDRESS": "https://reeds.example.org",
    "ALLOWED_HOSTS": ["reeds.example.org"],
    "SECURE_PROXY_SSL_HEADER": ("HTTP_X_FORWARDED_PROTO", "https"),
    "CACHES": {"default": {"BACKEND": "django.core.cache.backends.db.DatabaseCache"}},
    "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend",
}
THERE = {
    "S3_ENDPOINT": "https://files.example.org",
    "S3_BROWSER_ENDPOINT": "https://files.example.org",
    "S3_KEY": "studio",
    "S3_SECRET": "of the bucket",
}
WRONG = {
    "studio.E001": {"ALLOWED_HOSTS": ["example.com"]},
    "studio.E002": {"DEBUG": True},
    "studio.E003": {"HTTPS": False},
    "studio.E004": {"SECURE_PROXY_SSL_HEADER": None},
    "studio.E005": {"ALLOWED_HOSTS": ["*"]},
    "studio.E006": {"CACHES": {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}},
    "studio.E007": {"SECRET_KEY": "short"},
    "studio.E008": {"BACKUP_KEEP": 0},
    "studio.E009": {"X_ACCEL": "kept"},
    "studio.E010": {"S3_BUCKET": "reeds", "S3_BROWSER_ENDPOINT": "https://files.example.org"},
    "studio.E011": {"S3_BUCKET": "reeds", **THERE, "S3_BROWSER_ENDPOINT": "http://files.example.org"},
    "studio.W001": {"EMAIL_BACKEND": "django.core.mail.backends.console.EmailBackend"},
}


def found(settings, given):
    for name, value in given.items():
        setattr(settings, name, value)
    return [message.id for message in settings_agree()]


def test_good_production_settings_pass(settings):
    assert found(settings, GOOD) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_each_contradiction_is_told_alone(settings, rule):
    assert found(settings, GOOD | WRONG[rule.id]) == [rule.id]


def test_on_ones_own_machine_only_the_address_matters(settings):
    everything_wrong = {"PRODUCTION": False, "HTTPS": False, "SECURE_PROXY_SSL_HEADER": None}
    assert found(settings, GOOD | everything_wrong | {"ALLOWED_HOSTS": ["example.com"]}) == ["studio.E001"]


def test_every_sentence_is_one_and_names_a_setting():
    for rule in RULES:
        assert rule.sentence.endswith(".")
        assert any(word.isupper() and len(word) > 3 for word in rule.sentence.replace("_", "").split())


def test_production_demands_a_secret(tmp_path):
    with pytest.raises(ImproperlyConfigured, match="SECRET_KEY is not"):
        secret_key("", tmp_path, production=True)
    assert list(tmp_path.iterdir()) == []


def test_a_machine_of_ones_own_keeps_the_secret_it_made(tmp_path):
    made = secret_key("", tmp_path, production=False)
    assert len(made) == 50
    assert secret_key("", tmp_path, production=False) == made
    assert (tmp_path / "secret_key").stat().st_mode & 0o077 == 0
    assert [file.name for file in tmp_path.iterdir()] == ["secret_key"]


def test_a_given_secret_is_used_and_not_kept(tmp_path):
    assert secret_key("given", tmp_path, production=True) == "given"
    assert list(tmp_path.iterdir()) == []


def test_a_value_that_cannot_be_read_is_named(monkeypatch):
    monkeypatch.setenv("PORT", "eight thousand")
    with pytest.raises(ImproperlyConfigured, match="PORT is set to 'eight thousand'"):
        Environment().int("PORT", default=8000)
