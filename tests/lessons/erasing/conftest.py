"""A student and a fellow, each with a sign in all that is theirs, and the teacher who answered both."""

import pytest

from tests import factories as make
from tests.lessons.export.test_whose import everything_of


@pytest.fixture
def cast(teacher, student, other_student):
    everything_of(student, teacher, "QMINEQ")
    everything_of(other_student, teacher, "QTHEIRSQ")
    return {"teacher": teacher, "student": student, "fellow": other_student}


@pytest.fixture
def after_commit(django_capture_on_commit_callbacks):
    """Return a context in which what is to be done after a commit is done at its end."""
    return lambda: django_capture_on_commit_callbacks(execute=True)


@pytest.fixture
def files(settings):
    """Return a function that says whose sign is in any stored file."""

    def signs():
        stored = [path.read_bytes() for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]
        return {sign for sign in ("QMINEQ", "QTHEIRSQ") if any(sign.encode() in one for one in stored)}

    return signs


@pytest.fixture
def guest(stranger):
    """A student of another studio."""
    return make.student(studio=stranger.studio)
