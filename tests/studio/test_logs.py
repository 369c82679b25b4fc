"""The log: each line with its request, nothing of what people sent; what slow queries and DEBUG add."""

import io
import itertools
import json
import logging
import re

import pytest
from django.core.exceptions import ImproperlyConfigured, MiddlewareNotUsed
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.urls import include, path

from studio import timing
from studio.environment import Environment
from studio.logs import HideLinks, Json, Plain

WORDS = "Mira weeps over her reed"
NUMBER = re.compile(r"[0-9a-f]{12}")


def fails(request):
    """As a view of ours would: the error repeats what was typed."""
    typed = request.POST["words"]
    try:
        int(typed)
    except ValueError as error:
        raise KeyError(f"cannot read {typed}") from error


def fails_for_us(_request):
    raise ImproperlyConfigured("a setting is missing")


def says(_request):
    logging.getLogger("studio.any").error("said %s at %s", "this", "/join/a-secret/")
    return HttpResponse()


urlpatterns = [
    path("fails", fails),
    path("fails-for-us", fails_for_us),
    path("says", says),
    path("", include("studio.urls")),
]


@pytest.fixture
def log(request):
    """What the log says, as it is set up in studio/settings.py, in the format asked for."""
    said = io.StringIO()
    handler = logging.StreamHandler(said)
    handler.addFilter(HideLinks())
    handler.setFormatter(getattr(request, "param", Plain)())
    logging.getLogger().addHandler(handler)
    yield said
    logging.getLogger().removeHandler(handler)


both = pytest.mark.parametrize("log", [Plain, Json], indirect=True)


@pytest.fixture
def site(settings):
    """Every page is closed to strangers, but not those of this test."""
    settings.ROOT_URLCONF = __name__
    settings.MIDDLEWARE = [one for one in settings.MIDDLEWARE if "LoginRequired" not in one]
    return lambda: Client(raise_request_exception=False)


# --- the request's number ---
def test_an_answer_and_its_lines_have_the_same_number_and_the_next_another(site, log):
    numbers = [site().get("/says").headers["X-Request-ID"] for _time in range(2)]
    assert all(NUMBER.fullmatch(number) for number in numbers)
    assert log.getvalue().splitlines() == [f"[{number}] said this at /join/[hidden]/" for number in numbers]
    assert len(set(numbers)) == 2


def test_a_page_that_is_not_there_and_one_that_fails_have_one_too(site, log, db):
    for where in ("/fails-for-us", "/no-such-page/", "/healthz"):
        number = site().get(where).headers["X-Request-ID"]
        assert (f"[{number}] " in log.getvalue()) == (where != "/healthz")


def test_outside_a_request_there_is_none(site, log, db):
    site().get("/healthz")
    logging.getLogger("studio.any").error("alone")
    assert log.getvalue() == "alone\n"


@pytest.mark.parametrize(
    ("proxies", "given", "taken"),
    [
        (0, "0123456789abcdef", False),
        (1, "0123456789abcdef", True),
        (1, "short", False),
        (1, "x" * 65, False),
        (1, "a forged] line", False),
        (1, "1234567é", False),
    ],
)
def test_a_number_from_outside_is_taken_from_a_proxy_of_ours_alone(site, settings, proxies, given, taken):
    settings.PROXIES = proxies
    answer = site().get("/healthz", headers={"X-Request-ID": given})
    assert (answer.headers["X-Request-ID"] == given) == taken


# --- what is said ---
@both
def test_what_was_typed_stands_neither_in_the_log_nor_on_the_page(site, log, db):
    answer = site().post(f"/fails?asked={WORDS}", {"words": WORDS})
    assert answer.status_code == 500
    said = log.getvalue()
    assert "KeyError" in said
    assert "ValueError" in said
    assert "in fails" in said
    for word in WORDS.split():
        assert word not in said
        assert not re.search(rf"\b{word}\b", answer.content.decode())


def test_with_debug_the_page_shows_neither_form_fields_nor_variables(site, settings, db):
    settings.DEBUG = True
    page = site().post("/fails", {"words": "x", "more": WORDS}).content.decode()
    assert "********************" in page
    assert "KeyError" in page
    assert WORDS not in page


@both
def test_what_the_machine_says_is_told(site, log, db):
    site().get("/fails-for-us")
    assert "ImproperlyConfigured: a setting is missing" in log.getvalue()


@pytest.mark.parametrize("log", [Json], indirect=True)
def test_a_line_of_json_is_one_object(site, log, db):
    number = site().get("/says").headers["X-Request-ID"]
    site().get("/fails-for-us")
    first, second = map(json.loads, log.getvalue().splitlines())
    assert first.pop("at").endswith("+00:00")
    assert first == {
        "level": "ERROR",
        "logger": "studio.any",
        "request": number,
        "said": "said this at /join/[hidden]/",
    }
    assert second["logger"] == "django.request"
    assert second["error"].count("\n") > 2


@pytest.mark.parametrize(
    "secret",
    [
        *("/join/abc:def/", "/sign-in/abc/", "/address/abc/", "/calendar/abc/"),
        "/account/password/reset/key/1-abc/",
        "/account/login/?next=/address/abc/",
    ],
)
def test_what_opens_a_door_is_hidden(log, secret):
    logging.getLogger("studio.any").error("Not Found: %s", secret)
    assert "abc" not in log.getvalue()


def test_a_format_that_is_not_known_is_told(monkeypatch):
    monkeypatch.setenv("LOG_FORMAT", "xml")
    with pytest.raises(ImproperlyConfigured, match="LOG_FORMAT is set to 'xml'; it may be plain or json"):
        Environment().one_of("LOG_FORMAT", ("plain", "json"))
    monkeypatch.setenv("LOG_FORMAT", "JSON")
    assert Environment().one_of("LOG_FORMAT", ("plain", "json")) == "json"


# --- time ---
@pytest.mark.django_db
def test_a_slow_query_is_told_without_what_it_was_given(log, monkeypatch):
    monkeypatch.setattr(timing, "SLOW_S", -1.0)
    with connection.cursor() as cursor:
        cursor.execute("SELECT %s AS words", [WORDS])
    assert re.search(r"slow query, 0.0 s: SELECT %s AS words\n", log.getvalue())
    assert WORDS not in log.getvalue()


@pytest.mark.django_db
def test_a_quick_one_is_not_and_each_is_timed_once(log):
    timing.watch_queries(connection)
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    assert log.getvalue() == ""
    assert connection.execute_wrappers.count(timing.timed) == 1


@pytest.fixture
def debug(settings):
    settings.DEBUG = True
    first, *more = settings.TEMPLATES
    settings.TEMPLATES = [{**first, "BACKEND": "studio.timing.TimedTemplates"}, *more]


def test_with_debug_a_page_says_what_its_time_went_to(debug, student, as_member):
    said = as_member(student).get(student.to("me")).headers["Server-Timing"]
    spent = {what: float(ms) for what, ms in re.findall(r"(\w+);dur=([\d.]+)", said)}
    assert set(spent) == {"db", "template", "total"}
    assert 0 < spent["db"] < spent["total"]
    assert 0 < spent["template"] < spent["total"]


def test_a_template_within_a_template_is_counted_once(monkeypatch):
    clock = itertools.count()
    monkeypatch.setattr(timing.time, "perf_counter", lambda: float(next(clock)))
    token = timing.SPENT.set({})
    with timing._spending("template"), timing._spending("db"), timing._spending("template"):
        pass
    assert timing.SPENT.get() == {"template": 3.0, "db": 1.0}
    timing.SPENT.reset(token)


def test_without_it_nobody_is_told(client, settings, db):
    assert "Server-Timing" not in client.get("/account/login/").headers
    with pytest.raises(MiddlewareNotUsed):
        timing.server_timing(lambda _request: HttpResponse())
