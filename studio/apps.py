"""The site and its people."""

from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"
