"""The camera reads a code where the browser can, and is let go at once. Chromium shows it a test picture; what tells
codes apart is stood in for, since Chromium has none on this system."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.waiting import until
from tests.factories import released
from tests.tablets import sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Finds nothing twice, then what the test has put into `window.inView`; counts the cameras lent and let go.
DETECTOR = """
window.BarcodeDetector = class {
  constructor({ formats }) { sessionStorage.formats = formats; }
  static async getSupportedFormats() { return ["code_128", "ean_13", "qr_code"]; }
  async detect(film) {
    if (!film.videoWidth) throw new Error("no picture");
    this.looked = (this.looked ?? 0) + 1;
    return this.looked > 2 && window.inView ? [{ rawValue: window.inView }] : [];
  }
};
const stop = MediaStreamTrack.prototype.stop;
MediaStreamTrack.prototype.stop = function () {
  if (this.readyState === "live") sessionStorage.stopped = Number(sessionStorage.stopped ?? 0) + 1;
  return stop.call(this);
};
"""


@pytest.fixture
def seeing(tablet):
    """A tablet whose browser can read codes, and may use the camera."""
    tablet.context.grant_permissions(["camera"])
    tablet.add_init_script(DETECTOR)
    return tablet


def open_camera(page):
    page.get_by_role("button", name="Camera").click()
    until(page, "document.querySelector('#camera video').videoWidth > 0")


def is_let_go(page):
    """Once, and soon: a dialog says that it is shut only after it is."""
    until(page, "Number(sessionStorage.stopped ?? 0) > 0")
    return page.evaluate("Number(sessionStorage.stopped)") == 1


@pytest.mark.parametrize("start", ["queue", "sheet"])
def test_a_code_before_the_camera_leads_to_its_blind_and_lets_the_camera_go(seeing, start):
    shown, held_up = released(lines=[{"quantity": 2}])
    seeing.goto(sheet(shown) if start == "sheet" else "/stations/railing/")
    seeing.evaluate("code => window.inView = code", held_up.code)
    open_camera(seeing)
    expect(seeing).to_have_url(re.compile(sheet(held_up)))
    assert is_let_go(seeing)
    assert seeing.evaluate("sessionStorage.formats") == "code_128,qr_code"


@pytest.mark.parametrize("way", ["button", "Escape", "leaving"])
def test_the_camera_is_let_go_when_it_is_shut_or_the_page_is_left(seeing, way):
    blind = released()[0]
    seeing.goto("/stations/railing/")
    open_camera(seeing)
    if way == "button":
        seeing.get_by_role("button", name="Close").click()
    elif way == "Escape":
        seeing.keyboard.press("Escape")
    else:
        seeing.goto("/stations/")
    assert is_let_go(seeing)
    if way != "leaving":
        expect(seeing.get_by_role("dialog")).to_be_hidden()
        # What comes into view afterwards is not read.
        seeing.evaluate("code => window.inView = code", blind.code)
        seeing.wait_for_timeout(500)
        expect(seeing).to_have_url(re.compile("/stations/railing/$"))


def test_a_badge_is_not_read_since_its_code_belongs_in_no_address(seeing):
    released()
    asked = []
    seeing.on("request", lambda request: asked.append(request.url))
    seeing.goto("/stations/railing/")
    seeing.evaluate("code => window.inView = code", "98" + "7" * 26)
    open_camera(seeing)
    seeing.wait_for_timeout(1000)
    expect(seeing.get_by_role("dialog")).to_be_visible()
    assert not [url for url in asked if "98777" in url]


def test_a_camera_that_is_not_lent_is_said_with_what_to_do(tablet):
    tablet.add_init_script(DETECTOR)
    tablet.add_init_script(
        "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('no', 'NotAllowedError') }"
    )
    tablet.goto("/stations/railing/")
    tablet.get_by_role("button", name="Camera").click()
    expect(tablet.get_by_role("dialog")).to_contain_text("does not lend its camera")


@pytest.mark.parametrize(
    "lacking",
    [
        "delete window.BarcodeDetector",
        "BarcodeDetector.getSupportedFormats = async () => ['ean_13']",
        "Object.defineProperty(window, 'isSecureContext', { value: false })",
        "Object.defineProperty(navigator, 'mediaDevices', { value: undefined })",
    ],
)
def test_no_button_is_shown_that_could_not_do_its_work(tablet, lacking):
    tablet.add_init_script(DETECTOR)
    tablet.add_init_script(lacking)
    tablet.goto("/stations/railing/")
    expect(tablet.get_by_role("button", name="Find")).to_be_visible()
    assert tablet.locator("#camera-open").is_hidden()
