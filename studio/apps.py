"""The site and its people."""

from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        # register the checks, and what is done when somebody signs in; importable only once the settings are
        from studio import checks, sessions  # noqa: F401
