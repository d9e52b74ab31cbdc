"""A page that goes wrong in the browser must fail its test, whatever the test itself asserts."""

import pytest

from tests.browser.barriers import barriers

pytestmark = pytest.mark.browser

THROW_LATER = """new Promise(thrown => {
    setTimeout(() => { thrown(); throw new Error('no such rail') })
})"""


def complains(about):
    return pytest.raises(AssertionError, match=about)


def test_a_console_error_fails_the_test(watched_page):
    with complains("console error: rail too long"), watched_page("tablet") as page:
        page.evaluate("console.error('rail too long')")


def test_an_uncaught_error_fails_the_test(watched_page):
    with complains("uncaught error: no such rail"), watched_page("tablet") as page:
        page.evaluate(THROW_LATER)


def test_a_missing_page_fails_the_test(watched_page):
    with complains("answer 404: GET .*/static/no-such-file"), watched_page("phone") as page:
        page.goto("/static/no-such-file")


def test_a_request_to_another_host_fails_the_test(watched_page):
    with complains("asks another host: http://127.0.0.1:9/"), watched_page("phone") as page:
        page.evaluate("fetch('http://127.0.0.1:9/').catch(() => null)")


def test_a_problem_that_a_test_means_to_cause_is_allowed_by_name(watched_page):
    with watched_page("desktop") as page:
        page.watch.allow("404")
        page.goto("/static/no-such-file")


def test_other_problems_still_fail_a_test_that_allows_one(watched_page):
    with complains("console error: rail too long"), watched_page("desktop") as page:
        page.watch.allow("404")
        page.evaluate("console.error('rail too long')")


@pytest.mark.parametrize(
    ("page", "width_px", "touch"),
    [("tablet", 1024, True), ("desktop", 1440, False), ("phone", 390, True)],
    indirect=["page"],
)
def test_a_page_has_the_size_of_its_device(page, width_px, touch):
    page.set_content('<meta name="viewport" content="width=device-width">')
    assert page.evaluate("[window.innerWidth, navigator.maxTouchPoints > 0]") == [width_px, touch]


FAINT = "p { color: #bbb; background: #ccc }"
PAGE = '<html lang="en"><title>Rails</title><style>{style}</style><main><h1>Rails</h1><p>One rail</p>{more}</main>'


@pytest.mark.parametrize(
    ("style", "more", "found"),
    [
        ("", "", []),
        (FAINT, "", ["color-contrast", "color-contrast"]),
        (f"@media (prefers-color-scheme: dark) {{ {FAINT} }}", "", ["color-contrast"]),
        ("", "<input>", ["label"]),
    ],
    ids=["none", "faint", "faint in the dark", "no label"],
)
def test_a_barrier_is_found_in_light_and_in_dark(page, style, more, found):
    page.set_content(PAGE.format(style=style, more=more))
    assert [rule for rule, _elements in barriers(page)] == found
