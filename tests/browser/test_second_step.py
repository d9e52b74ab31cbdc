"""A second step set up from the picture on the page and asked for at the next sign-in; a first password on the way."""

import io
import re

import pyotp
import pytest
import zxingcpp
from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from orders import first_password
from tests import factories
from tests.browser.barriers import barriers

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PASSWORD, OWN = "a-long-passphrase", "kettle-ladder-orchard"


def begin(page, password):
    page.get_by_label("Name you sign in with").fill("nora")
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def app_of(page):
    """What an app makes of the picture, as its camera sees it."""
    (seen,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(page.locator("svg.picture").screenshot())))
    return pyotp.parse_uri(seen.text)


def code(app, later=0):
    return app.at(timezone.now(), counter_offset=later)


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_from_a_first_password_to_a_second_step_and_back_in(page, live_server):
    first_password.give(factories.person("sales", name="nora"))
    page.emulate_media(color_scheme="dark")
    page.goto("/sign-in/")
    begin(page, PASSWORD)
    expect(page).to_have_url(re.compile("/you/first-password/$"))
    assert barriers(page) == []
    page.get_by_label("New password").fill(OWN)
    page.get_by_label("The same again").fill(OWN)
    page.get_by_role("button", name="Take the password").click()
    expect(page.get_by_text("The password is yours now.")).to_be_visible()

    page.goto("/you/second-step/")
    assert barriers(page) == []
    app = app_of(page)
    page.get_by_label("The code that the app shows").fill(code(app))
    page.get_by_role("button", name="Set it up").click()
    expect(page.get_by_role("heading", name="Your spare codes")).to_be_visible()
    assert barriers(page) == []
    spare = page.locator(".spare code").first.inner_text()

    for typed in (code(app, 1), spare):
        page.get_by_role("button", name="Sign out").click()
        begin(page, OWN)
        expect(page).to_have_url(re.compile("/sign-in/code/$"))
        if typed == spare:
            page.get_by_role("link", name="use a spare code").click()
        assert barriers(page) == []
        page.get_by_label("ode").fill(typed)
        page.keyboard.press("Enter")
        expect(page).to_have_url(re.compile("/orders/$"))
