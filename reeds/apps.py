"""One reed's life."""

from django.apps import AppConfig


class ReedsConfig(AppConfig):
    name = "reeds"
