"""What happens between teacher and student."""

from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "lessons"

    def ready(self) -> None:
        """Add what happened in lessons to a reed's timeline, which must not know of lessons itself."""
        # models can be imported only now
        from lessons.pages.timeline import rounds_and_answers
        from reeds.pages.timeline import also

        also(rounds_and_answers)
