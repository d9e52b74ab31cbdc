"""What waited on a tablet is sent exactly once, whatever becomes of answers, clocks, sessions and other tabs; what is
refused then stands there until somebody has seen it."""

import datetime as dt
import re

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from production import route, tablets
from production.models import StationEvent
from production.route import RAILING
from tests import factories
from tests.browser.offline import OFFLINE, away, back, in_reach, kept, sent, waiting
from tests.browser.waiting import until
from tests.factories import released, tell
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

QUEUE = "/stations/railing/"
ANSWERED = re.compile("/record/|/outbox/")
# What a tablet is given on a plain address that isn't secure: none of these.
NOT_SECURE = """
    delete Navigator.prototype.locks; delete Navigator.prototype.serviceWorker; delete Navigator.prototype.storage;
    delete window.caches; delete Crypto.prototype.randomUUID;
"""
CLOCK = """
    const real = Date;
    window.setClock = (ms) => localStorage.setItem('clock', ms);
    const now = () => real.now() + Number(localStorage.getItem('clock') ?? OFFSET);
    window.Date = class extends real {
        constructor(...given) { super(...(given.length ? given : [now()])); }
        static now() { return now(); }
    };
"""
HOUR_MS = 3_600_000


@pytest.fixture(autouse=True)
def means_to_be_offline(tablet):
    tablet.watch.allow(OFFLINE)


@pytest.fixture
def blind(maker):
    """A blind that the maker has in hand at railing."""
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker, at=timezone.now() - dt.timedelta(minutes=30))
    return blind


def ready(tablet, blind):
    """The blind's sheet, kept, with the network cut."""
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind), QUEUE)
    away(tablet)


def tick(tablet, *keys):
    for key in keys:
        tablet.locator(f"#step-{key} button").click()
        expect(tablet.locator(f"#step-{key}")).to_contain_text("waiting to be sent")


def steps_of(blind):
    return [event.data["key"] for event in StationEvent.objects.of_blind(blind) if event.kind == route.STEP]


def test_answers_of_502_to_what_was_recorded_all_the_same_write_each_event_once(tablet, blind):
    tablet.watch.allow("502")
    ready(tablet, blind)
    tick(tablet, "tubes", "control_end", "stops")
    asked = []

    def answer(route_):
        body = re.search("event_id=([0-9a-f-]{36})", route_.request.post_data or "")
        asked.append(body and body.group(1))
        route_.fetch()  # it is recorded, and the answer is lost on the way
        if asked.count(asked[-1]) < 2:
            return route_.fulfill(status=502, body="Bad gateway")
        return route_.fallback()

    tablet.route("**/outbox/", answer)
    back(tablet)
    assert steps_of(blind) == ["tubes", "control_end", "stops"]
    assert sorted(asked.count(each) for each in set(asked)) == [2, 2, 2]


def test_a_502_with_the_network_there_writes_the_event_once_and_the_sheet_goes_on(tablet, blind):
    tablet.watch.allow("502")
    tablet.goto(sheet(blind))
    lost = []

    def lose_the_first(route_):
        route_.fetch()
        lost.append(route_.request.url)
        return route_.fulfill(status=502, body="Bad gateway") if len(lost) == 1 else route_.fallback()

    tablet.route(ANSWERED, lose_the_first)
    tablet.locator("#step-stops button").click()
    sent(tablet)
    expect(tablet.locator("#step-stops")).to_contain_text(re.compile(r"☑.*Mara Lind, \d\d:\d\d"))
    assert steps_of(blind) == ["stops"]
    assert lost[0].endswith("/record/")
    assert all(url.endswith("/outbox/") for url in lost[1:])


def test_a_server_that_fails_again_and_again_on_one_event_does_not_hold_up_the_rest(tablet, blind):
    tablet.watch.allow("500")
    ready(tablet, blind)
    tick(tablet, "tubes", "stops")
    broken = []

    def fail_on_the_first(route_):
        if "key=tubes" in (route_.request.post_data or ""):
            broken.append(1)
            return route_.fulfill(status=500, body="Server error")
        return route_.fallback()

    tablet.route("**/outbox/", fail_on_the_first)
    back(tablet)
    assert len(broken) == 3
    assert steps_of(blind) == ["stops"]
    expect(tablet.locator("#refused")).to_contain_text("The server failed on it again and again")


@pytest.mark.parametrize(
    ("wrong_ms", "name"), [(-3 * 365 * 24 * HOUR_MS, "three years slow"), (30 * HOUR_MS, "thirty hours fast")]
)
def test_a_clock_that_is_wrong_dates_what_waited_right(tablet, blind, wrong_ms, name):
    tablet.add_init_script(CLOCK.replace("OFFSET", str(wrong_ms)))
    ready(tablet, blind)
    before = timezone.now()
    tick(tablet, "stops")
    entered = timezone.now()
    tablet.wait_for_timeout(1500)
    back(tablet)
    event = StationEvent.objects.of_blind(blind).last()
    assert before - dt.timedelta(seconds=2) <= event.at <= entered + dt.timedelta(seconds=2), name
    assert event.received_at - event.at >= dt.timedelta(seconds=1)


@pytest.mark.parametrize(("jump_ms", "name"), [(-5 * HOUR_MS, "put back"), (5 * HOUR_MS, "put forward")])
def test_a_clock_that_jumps_while_events_wait_keeps_them_in_order_and_between_then_and_now(
    tablet, blind, jump_ms, name
):
    tablet.add_init_script(CLOCK.replace("OFFSET", "0"))
    ready(tablet, blind)
    tick(tablet, "tubes")
    tablet.evaluate(f"setClock({jump_ms})")
    tick(tablet, "stops")
    back(tablet)
    log = list(StationEvent.objects.of_blind(blind))
    assert steps_of(blind) == ["tubes", "stops"]
    assert [event.at for event in log] == sorted(event.at for event in log), name
    assert all(event.at <= event.received_at for event in log if event.received_at)


def test_a_refusal_stands_at_the_top_until_somebody_has_seen_it(tablet, blind, other_maker):
    tablet.watch.allow("422")
    ready(tablet, blind)
    tick(tablet, "stops")
    tell(blind, RAILING, route.PAUSE, by=other_maker, reason="Break", at=timezone.now())
    back(tablet)
    refused = tablet.locator("#refused")
    words = r"0001-1 · \d\d:\d\d · Mara Lind\s+2 rail stops, each on .* It is paused; take it up again"
    expect(refused.locator("li")).to_have_text(re.compile(words))
    expect(tablet.locator(".bench-state")).to_contain_text("Paused")
    expect(tablet.locator("#step-stops")).not_to_contain_text("☑")
    for path in ("/stations/", QUEUE):
        tablet.goto(path)
        expect(refused.locator("li")).to_have_count(1)
    refused.get_by_role("button", name="Seen").click()
    expect(refused).to_be_hidden()
    tablet.reload()
    expect(refused).to_be_hidden()
    assert steps_of(blind) == []


def test_what_follows_a_refused_event_is_still_sent(tablet, other_maker):
    tablet.watch.allow("422")
    first, second = released(lines=[{"quantity": 2}])
    tablet.goto(QUEUE)
    kept(tablet, sheet(first), sheet(second))
    away(tablet)
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    tablet.goto(sheet(second))
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    tell(first, RAILING, route.START, by=other_maker)
    back(tablet)
    expect(tablet.locator("#refused li")).to_have_text(
        re.compile(r"0001-1 · .* Start railing .* has had blind 0001-1 in hand")
    )
    assert StationEvent.objects.of_blind(second).last().kind == route.START


def test_two_tabs_of_one_tablet_send_each_event_once_and_in_order(tablet, blind):
    ready(tablet, blind)
    other = tablet.context.new_page()
    other.goto(QUEUE)
    tick(tablet, "tubes", "control_end", "end_sets", "stops")
    expect(waiting(other)).to_contain_text("4 entries are waiting")
    posts = []
    tablet.context.on("request", lambda asked: posts.append(asked.url) if asked.method == "POST" else None)
    back(tablet)
    expect(waiting(other)).to_be_hidden()
    assert steps_of(blind) == ["tubes", "control_end", "end_sets", "stops"]
    assert len(posts) == 4


@pytest.mark.parametrize("tabs", [1, 2])
def test_on_an_address_that_is_not_secure_an_open_page_keeps_and_sends_what_is_entered(tablet, blind, tabs):
    tablet.context.add_init_script(NOT_SECURE)
    tablet.goto(sheet(blind))
    assert tablet.evaluate("'locks' in navigator || 'caches' in window") is False
    other = tablet.context.new_page() if tabs == 2 else None
    if other:
        other.goto(QUEUE)
    away(tablet)
    tick(tablet, "tubes", "control_end", "stops")
    tablet.get_by_label("Scan or type a number").fill("0001-1")
    tablet.get_by_role("button", name="Find").click()
    expect(tablet.locator("#unknown")).to_contain_text("0001-1 can't be looked up without the network")
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    back(tablet)
    assert steps_of(blind) == ["tubes", "control_end", "stops"]


def test_a_scan_without_a_network_opens_what_is_kept_and_says_what_is_not(tablet):
    blinds = released(lines=[{"quantity": 7}])
    tablet.goto(QUEUE)
    kept(tablet, *(sheet(blind) for blind in blinds[:4]))
    away(tablet)
    for _ in range(2):  # the same scan twice
        tablet.evaluate("() => { document.activeElement.blur(); window.isBefore = true; }")
        tablet.keyboard.type(blinds[1].code)
        tablet.keyboard.press("Enter")
        until(tablet, f"!window.isBefore && location.pathname === '{sheet(blinds[1])}'")
        tablet.wait_for_load_state()
    expect(tablet.locator("h1")).to_have_text("0001-2")
    tablet.get_by_label("Scan or type a number").fill("0001-7")
    tablet.get_by_role("button", name="Find").click()
    expect(tablet.get_by_text("0001-7 can't be looked up without the network")).to_be_visible()
    tablet.get_by_role("link", name="Back to the queue").click()
    expect(tablet.locator("#queue")).to_be_visible()
    tablet.get_by_label("Scan or type a number").fill("0001-3")
    tablet.get_by_role("button", name="Find").click()
    tablet.get_by_role("link", name="0001-3").click()
    expect(tablet).to_have_url(re.compile(sheet(blinds[2])))
    back(tablet)
    assert events(blinds[1], route.START) == 0


def test_a_scrapped_rails_old_label_opens_nothing_without_a_network_and_the_new_one_does(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    rail = [{"part": "rail", "count": 1}]
    tell(blind, RAILING, route.SEND_BACK, by=maker, fault="rail_damaged", back_to=RAILING, scrapped=rail)
    blind.refresh_from_db()
    assert blind.label_code != blind.code
    tablet.goto(QUEUE)
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.keyboard.type(blind.code)
    tablet.keyboard.press("Enter")
    expect(tablet.get_by_text(f"{blind.code} can't be looked up without the network")).to_be_visible()
    tablet.get_by_role("link", name="Back to the queue").click()
    expect(tablet.locator("#queue")).to_be_visible()
    tablet.keyboard.type(blind.label_code)
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    back(tablet)


def test_the_same_start_scanned_and_pressed_twice_without_a_network_is_one_event(tablet):
    blind = released()[0]
    tablet.goto(QUEUE)
    kept(tablet, sheet(blind))
    away(tablet)
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    tablet.goto(QUEUE)
    tablet.keyboard.type(blind.code)
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    expect(main_button(tablet)).to_contain_text("Finish railing")
    back(tablet)
    assert events(blind, route.START) == 1


def test_what_waits_is_held_until_its_maker_has_signed_in_again(tablet, sign_in, maker, blind, other_maker):
    tablet.watch.allow("401")
    ready(tablet, blind)
    tick(tablet, "stops")
    sign_in(tablet, other_maker)
    in_reach(tablet)
    expect(waiting(tablet)).to_contain_text("Mara Lind must sign in on this tablet; then it is sent by itself.")
    assert steps_of(blind) == []
    sign_in(tablet, maker)
    tablet.goto(QUEUE)
    sent(tablet)
    assert steps_of(blind) == ["stops"]
    assert StationEvent.objects.of_blind(blind).last().person == maker


def test_an_enrolled_tablet_sends_what_its_maker_entered_though_the_session_is_over(
    tablet, live_server, maker, blind, other_maker
):
    wall, secret = tablets.enrol(name="Railing 1", station=RAILING, by=factories.person("manager"), at=factories.AT)
    tablet.context.add_cookies([{"name": tablets.COOKIE, "value": secret, "url": live_server.url, "httpOnly": True}])
    ready(tablet, blind)
    tick(tablet, "stops")
    tablet.context.clear_cookies(name="sessionid")
    in_reach(tablet)
    sent(tablet)
    event = StationEvent.objects.of_blind(blind).last()
    assert (event.data["key"], event.person, event.tablet) == ("stops", maker, wall)


def test_another_makers_pages_are_forgotten_and_what_waits_is_not(tablet, sign_in, maker, other_maker, blind):
    tablet.watch.allow("401")
    ready(tablet, blind)
    tick(tablet, "stops")
    tablet.get_by_label("Measure the clear gap").fill("6")
    tablet.goto("about:blank")
    sign_in(tablet, other_maker)
    in_reach(tablet)
    tablet.goto("/stations/")
    expect(waiting(tablet)).to_contain_text("1 entry is waiting")
    until(tablet, f"localStorage.getItem('railwright-maker') === '{other_maker.pk}'")
    assert tablet.evaluate("path => caches.match(path).then(found => !found)", sheet(blind))
    assert tablet.evaluate("Object.keys(localStorage).filter(name => name.startsWith('railwright-typed'))") == []


def test_signing_out_forgets_the_pages(tablet, blind):
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    tablet.get_by_role("button", name="Sign out").click()
    expect(tablet).to_have_url(re.compile("/sign-in/"))
    until(tablet, "localStorage.getItem('railwright-maker') === ''")
    assert tablet.evaluate("path => caches.match(path).then(found => !found)", sheet(blind))


def test_office_pages_are_never_kept_and_their_absence_is_said_calmly(tablet, maker, sign_in):
    blind = released()[0]
    tablet.goto(QUEUE)
    kept(tablet, sheet(blind))
    tablet.goto(f"/blinds/{blind.code}/")
    tablet.goto(QUEUE)
    away(tablet)
    tablet.goto(f"/blinds/{blind.code}/")
    expect(tablet.get_by_text("This page is not kept on this tablet")).to_be_visible()
    tablet.get_by_role("link", name="Back to the queue").click()
    expect(tablet.locator("#queue")).to_be_visible()
    tablet.goto("/sign-in/")
    expect(tablet.get_by_text("Signing in needs the network")).to_be_visible()
    assert tablet.evaluate("path => caches.match(path).then(found => !found)", f"/blinds/{blind.code}/")
    in_reach(tablet)
    expect(tablet).to_have_url(re.compile(QUEUE + "|/stations/$"))  # signed in already: on to where she works


def test_a_queue_that_does_not_change_is_fetched_ahead_only_once(tablet):
    blinds = released(lines=[{"quantity": 5}])
    tablet.goto(QUEUE)
    kept(tablet, *(sheet(blind) for blind in blinds[:4]))
    asked = []
    tablet.on("request", lambda request: asked.append(request.url))
    tablet.reload()
    tablet.wait_for_timeout(1500)
    assert [url for url in asked if re.search(r"/stations/railing/\d{10}/$", url)] == []


def test_a_browser_that_keeps_nothing_says_so_and_sends_at_once(tablet, blind):
    tablet.context.add_init_script("IDBFactory.prototype.open = () => { throw new Error('denied'); };")
    tablet.goto(sheet(blind))
    tablet.locator("#step-stops button").click()
    expect(tablet.locator("#step-stops")).to_contain_text(re.compile(r"☑.*Mara Lind, \d\d:\d\d"))
    expect(tablet.get_by_text("This browser keeps nothing for this page.")).to_be_visible()
    assert steps_of(blind) == ["stops"]
