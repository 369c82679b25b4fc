"""The site and its people."""

from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        # registers the checks; importable only once the settings are
        from studio import checks  # noqa: F401
