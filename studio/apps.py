"""The site and its people."""

from django.apps import AppConfig
from django.core.signals import request_finished
from django.db.backends.signals import connection_created


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        # register the checks, the journal's rows, what is done when somebody signs in; importable only now
        from studio import bell, checks, languages, lease, logs, once, sessions, sign_ins, timing  # noqa: F401
        from studio.push import phones  # noqa: F401

        connection_created.connect(timing.watch_queries)
        request_finished.connect(logs.request_is_over)
