"""The means of the browser tests can fail: what they are to see, they see."""

import pytest

from tests.browser.conftest import Watch


@pytest.fixture
def watched(browser, live_server):
    """A page and a watch whose troubles this file looks at itself."""
    context = browser.new_context(base_url=live_server.url)
    page, watch = context.new_page(), Watch(live_server.url)
    watch.over(page)
    page.goto("/account/login/")
    yield page, watch
    context.close()


def test_a_good_page_gives_no_trouble(watched, axe):
    page, watch = watched
    axe(page)
    assert watch.troubles == []


def test_axe_sees_a_picture_without_words(watched, axe):
    page, _watch = watched
    page.evaluate("document.querySelector('main').append(new Image())")
    with pytest.raises(AssertionError, match="image-alt"):
        axe(page)


def test_axe_sees_words_too_pale_to_read(watched, axe):
    page, _watch = watched
    page.evaluate("document.querySelector('main label').style.color = '#ddd'")
    with pytest.raises(AssertionError, match="color-contrast"):
        axe(page)


def test_an_error_of_a_script_is_seen(watched):
    page, watch = watched
    with page.expect_event("pageerror"):
        page.evaluate("setTimeout(() => { throw new Error('slipped') }, 0)")
    assert any("slipped" in trouble for trouble in watch.troubles)


def test_an_error_in_the_console_is_seen(watched):
    page, watch = watched
    page.evaluate("console.error('slipped')")
    assert watch.troubles == ["console: slipped"]


def test_a_bad_answer_is_seen_unless_it_was_expected(watched):
    page, watch = watched
    page.goto("/nowhere/")
    assert [trouble[:8] for trouble in watch.troubles] == ["404 GET "]
    watch.troubles.clear()
    watch.expect(404)
    page.goto("/nowhere/")
    assert watch.troubles == []


def test_an_inline_script_is_refused_and_that_is_seen(watched):
    page, watch = watched
    page.evaluate(
        "document.body.append(Object.assign(document.createElement('script'), {text: 'window.ran = 1'}))"
    )
    assert page.evaluate("window.ran") is None
    assert any("Content Security Policy" in trouble for trouble in watch.troubles)
