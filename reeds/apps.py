"""One reed's life."""

from django.apps import AppConfig


class ReedsConfig(AppConfig):
    name = "reeds"

    def ready(self) -> None:
        """Let recordings tell of their reeds, which do not know of them."""
        # models can be imported only now
        from reeds.reed.listening import register_listener
        from reeds.take.told import heard_of

        register_listener(heard_of)
