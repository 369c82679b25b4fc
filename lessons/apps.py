"""What happens between teacher and student."""

from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "lessons"
