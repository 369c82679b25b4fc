"""What happens between teacher and student."""

from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "lessons"

    def ready(self) -> None:
        """Add what lessons tell to pages of reeds, which must not know of lessons themselves."""
        # models can be imported only now
        from lessons.pages.passages import passages_on
        from lessons.pages.timeline import rounds_and_answers
        from reeds.pages.noted import noted_by
        from reeds.pages.timeline import also

        also(rounds_and_answers)
        noted_by(passages_on)
