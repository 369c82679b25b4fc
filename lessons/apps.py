"""What happens between teacher and student."""

from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "lessons"

    def ready(self) -> None:
        """Add what lessons tell to pages of reeds, which must not know of lessons themselves."""
        # models can be imported only now
        from lessons.answering.pages.passages import passages_on
        from lessons.answering.pages.timeline import rounds_and_answers
        from lessons.comparison.pages.timeline import drawn
        from lessons.demonstration.models import Demonstration
        from lessons.erasing.actions import erase_pictures_of
        from lessons.erasing.keeping import keep_times
        from lessons.export.actions import forget_spent
        from lessons.export.models import Export
        from lessons.letter import libraries  # noqa: F401  # registers its check
        from lessons.letter.models import Letter, TermReport
        from lessons.log.models import ReedLog
        from lessons.voice.models import Voice
        from reeds.sweep import register_ageing, register_held
        from reeds.take.pages.noted import register_annotator
        from reeds.timeline.pages import register_moments
        from studio.erasing import register_eraser
        from studio.guardians import erase_overdue

        register_eraser(erase_pictures_of)
        register_moments(rounds_and_answers)
        register_moments(drawn)
        register_annotator(passages_on)
        register_ageing(ReedLog.objects.forget_waiting)
        register_held("logs", (ReedLog, ("file",)))
        register_held("voices", (Voice, ("sound_raw", "sound", "mp3")))
        shown = ("photo_raw", "photo_screen", "photo_thumbnail", "sound_raw", "sound", "mp3")
        register_held("demonstrations", (Demonstration, shown))
        register_ageing(forget_spent)
        register_ageing(erase_overdue)
        register_ageing(keep_times)
        register_held("exports", (Export, ("file",)))
        register_held("letters", (Letter, ("pdf",)), (TermReport, ("pdf",)))
