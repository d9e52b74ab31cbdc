"""Fixtures for every test: quick passwords, people of the office, a clock that is put on, and pages in headless
Chromium that complain when something goes wrong."""

import datetime as dt
import os
import re
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from urllib.parse import urlsplit

import hypothesis
import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from script.system_needs import chromium
from tests import emptying, factories

SIZES = {
    "tablet": {"viewport": {"width": 1024, "height": 768}, "has_touch": True},
    "desktop": {"viewport": {"width": 1440, "height": 900}},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
}
# Nothing but the pages under test may use the network, the graphics card or the first-run screens.
CHROMIUM_FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A camera that shows a test picture, for the page that is given leave to use it.
    "--use-fake-device-for-media-stream",
]
PATIENCE_MS = 20_000
OWN_SCHEMES = {"data", "blob", "about"}
# An answer came later than its page waits, which on a busy machine says nothing of it; what never comes, a test misses.
LATE = r"console error: htmx:(timeout|afterRequest)"


def pytest_configure():
    # How slow a page is on a busy machine says nothing of it, and would be written down.
    settings.SLOW_MS = 60_000
    # A slow hash guards real passwords; the tests' own need none.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    database = settings.DATABASES["default"]
    if database["ENGINE"] == "django.db.backends.sqlite3":
        # A database that is thrown away need not outlive a power cut.
        database["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    else:
        emptying.row_by_row()
    # How long an example takes on a busy machine says nothing of it.
    if hypothesis.settings.get_current_profile_name() == "default":
        hypothesis.settings.register_profile("busy", deadline=None)
        hypothesis.settings.load_profile("busy")


@pytest.fixture(autouse=True, scope="session")
def of_this_version():
    """A test's queries are counted, and the database of the tests is of this version: nobody looks whether it is."""
    from orders.versions import look

    look.rest()


@pytest.fixture(autouse=True)
def nothing_is_on_record_yet():
    """Each test's database begins empty; what the audit remembers of having told begins so too."""
    from orders import audit

    audit.told.clear()


@pytest.fixture(autouse=True)
def kinds_of_fault(request):
    """The kinds of fault that a migration brings: a test that commits empties every table, and theirs with it."""
    wanted = {"db", "transactional_db", "live_server"}.intersection(request.fixturenames)
    marker = request.node.get_closest_marker("django_db")
    if not (wanted or marker):
        return
    whole = wanted - {"db"} or (marker and marker.kwargs.get("transaction"))
    request.getfixturevalue("transactional_db" if whole else "db")

    from production.models import FaultKind

    if not FaultKind.objects.exists():
        first = import_module("production.migrations.0003_first_kinds_of_fault").FIRST
        FaultKind.objects.bulk_create(
            FaultKind(key=key, words=words, position=position) for position, (key, words) in enumerate(first, start=1)
        )


@pytest.fixture
def later(monkeypatch):
    """Function that puts the clock on: `later(hours=7)`."""

    def put_on(**time):
        at = timezone.now() + dt.timedelta(**time)
        monkeypatch.setattr("django.utils.timezone.now", lambda: at)

    return put_on


@pytest.fixture
def sales(client):
    """Somebody from sales, signed in, with a system to order from."""
    found = factories.person("sales", name="nora")
    client.force_login(found)
    factories.system()
    return found


@pytest.fixture
def administrator(client):
    """An administrator, signed in."""
    found = factories.person("administrator", name="ada")
    client.force_login(found)
    return found


@pytest.fixture
def at_checking(maker, checker):
    """A split blind with 12 carriers a side, in the checker's hand."""
    blind = factories.released()[0]
    factories.make(blind, maker=maker, checker=checker, until="stringing")
    factories.tell(blind, "checking", "start", by=checker)
    return blind


@pytest.fixture(autouse=True)
def nothing_kept_of_another_workshop():
    """Each test has a workshop of its own, with the same keys at the same moments as the one before."""
    from production import queue
    from production.templatetags import kept
    from production.views import station_blind

    queue._kept.clear()
    kept.parts.clear()
    station_blind.seldom.clear()
    station_blind.hands.clear()


class PageWatch:
    """What went wrong on the pages of one browser context: errors, failed requests, requests to other hosts."""

    def __init__(self, *, context, own_origin):
        self.own_origin = own_origin
        self.problems = []
        self.allowed = [LATE]
        context.on("console", self._console)
        context.on("weberror", lambda web_error: self.problems.append(f"uncaught error: {web_error.error}"))
        context.on("request", self._request)
        context.on("requestfailed", self._request_failed)
        context.on("response", self._response)

    def allow(self, pattern):
        """Accept the problems that a test means to cause: those in which the regular expression is found."""
        self.allowed.append(pattern)

    def check(self):
        """Raise AssertionError with every problem that no `allow` covers."""
        left = [p for p in self.problems if not any(re.search(pattern, p) for pattern in self.allowed)]
        assert not left, "the browser reported:\n" + "\n".join(left)

    def _console(self, message):
        if message.type == "error":
            self.problems.append(f"console error: {message.text} ({message.location.get('url', '')})")

    def _request(self, request):
        url = urlsplit(request.url)
        if url.scheme not in OWN_SCHEMES and f"{url.scheme}://{url.netloc}" != self.own_origin:
            self.problems.append(f"asks another host: {request.url}")

    def _request_failed(self, request):
        # A page that is left, or a download, aborts what it was still asking for: nothing is wrong.
        if request.failure != "net::ERR_ABORTED":
            self.problems.append(f"failed request: {request.method} {request.url} {request.failure}")

    def _response(self, response):
        if response.status >= 400:
            self.problems.append(f"answer {response.status}: {response.request.method} {response.url}")


@contextmanager
def _watched_page(browser, own_origin, size):
    """Open a page of a size in SIZES; on leaving, raise AssertionError for whatever went wrong on it."""
    context = browser.new_context(**SIZES[size], base_url=own_origin)
    context.set_default_timeout(PATIENCE_MS)
    watch = PageWatch(context=context, own_origin=own_origin)
    try:
        page = context.new_page()
        page.watch = watch
        yield page
    finally:
        context.close()
    watch.check()


@pytest.fixture(scope="session")
def chromium_path():
    """The machine's Chromium, or None where only Playwright's own is there."""
    return chromium()


@pytest.fixture(scope="session")
def browser(chromium_path):
    from playwright.sync_api import expect, sync_playwright

    # Playwright's synchronous interface keeps an event loop in this thread, which Django takes for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    # On a busy machine a page may be slow and right; a test of speed sets its own limit.
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium_path, args=CHROMIUM_FLAGS)
        yield launched
        launched.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def watched_page(browser, live_server):
    """Context manager: `with watched_page("tablet") as page:`, for a test that needs several pages or sizes."""
    return partial(_watched_page, browser, live_server.url)


@pytest.fixture
def page(watched_page, request):
    """A desktop page; another size by `@pytest.mark.parametrize("page", ["tablet"], indirect=True)`.

    `page.watch.allow(pattern)` accepts a problem that the test means to cause.
    """
    with watched_page(getattr(request, "param", "desktop")) as opened:
        yield opened


@pytest.fixture
def sign_in(live_server):
    """Function that signs a user in on a page without walking through the sign-in form: `sign_in(page, user)`."""

    def signed_in(page, user):
        client = Client()
        client.force_login(user)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])

    return signed_in
