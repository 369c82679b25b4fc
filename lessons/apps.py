"""What happens between teacher and student."""

from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "lessons"

    def ready(self) -> None:
        """Add what lessons tell to pages of reeds, which must not know of lessons themselves."""
        # models can be imported only now
        from lessons.answering.pages.passages import passages_on
        from lessons.answering.pages.timeline import rounds_and_answers
        from reeds.take.pages.noted import register_annotator
        from reeds.timeline.pages import register_moments

        register_moments(rounds_and_answers)
        register_annotator(passages_on)
