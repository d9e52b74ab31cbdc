"""Takes the pictures of a served demo: those that the README shows, and the rest of the set for looking at.

    python -m script.screenshots http://127.0.0.1:8000

Works on the database that DATABASE_URL names, which must be the served one. The README's pictures go to
fixtures/pictures, the whole set to var/pictures.
"""

import os
import shutil
import sys
from functools import cache
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # Playwright keeps an event loop in this thread
django.setup()

from django.conf import settings  # noqa: E402
from django.test import Client  # noqa: E402
from django.utils import timezone  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402

from orders.models import CustomersFile, Order, Person  # noqa: E402
from production import tablets  # noqa: E402
from production.models import Amendment, Stage  # noqa: E402
from script.system_needs import chromium  # noqa: E402

TABLET, DESK, WALL, PHONE = (1024, 768), (1440, 900), (1920, 1080), (390, 844)
README = Path("fixtures/pictures")
WHOLE_SET = Path("var/pictures")
A_TABLET = "an enrolled tablet"


def in_hand(station, *, looped=None):
    stages = Stage.objects.filter(station=station, state="in_hand").select_related("blind", "person")
    for stage in stages.order_by("pk"):
        if looped is None or stage.blind.looped is looped:
            return stage
    return stages.order_by("pk").first() or Stage.objects.filter(station=station).select_related("blind").first()


def order_in(state):
    return Order.objects.filter(state=state, lines__isnull=False).order_by("number").first()


def shots():
    """(name, who, address, size, whether the README shows it) of every picture."""
    railing, stringing, checking = in_hand("railing"), in_hand("stringing", looped=True), in_hand("checking")
    draft, released = order_in("draft"), order_in("released")
    changed = Amendment.objects.filter(state=Amendment.ACCEPTED).first().order
    sender = CustomersFile.objects.first().customer
    bench = "/stations/{}/{}/".format
    return [
        ("order-line", "sales", f"/orders/{draft.number}/lines/1/", DESK, True),
        ("station-queue", railing.person.username, "/stations/railing/", TABLET, True),
        ("station-blind", railing.person.username, bench("railing", railing.blind.code), TABLET, True),
        ("day-sheet", "manager", "/day/", WALL, True),
        ("orders", "sales", "/orders/", DESK, False),
        ("order", "sales", f"/orders/{released.number}/", DESK, False),
        ("order-grid", "sales", f"/orders/{draft.number}/lines/", DESK, True),
        ("order-grid-tablet", "sales", f"/orders/{draft.number}/lines/", TABLET, False),
        ("order-letter", "sales", f"/orders/{released.number}/papers/confirmation/send/", DESK, False),
        ("order-line-empty", "sales", f"/orders/{draft.number}/lines/new/", DESK, False),
        ("order-line-phone", "sales", f"/orders/{draft.number}/lines/1/", PHONE, False),
        ("changes", "manager", "/changes/", DESK, True),
        ("changes-phone", "manager", "/changes/", PHONE, False),
        ("order-changes", "sales", f"/orders/{changed.number}/changes/", DESK, False),
        ("customers-files", "sales", f"/customers/{sender.pk}/files/", DESK, False),
        ("found", "sales", "/find/?q=kitchen", DESK, False),
        ("nothing-found", "sales", "/find/?q=nobody+of+that+name", DESK, False),
        ("days-ahead", "manager", "/plan/", DESK, False),
        ("days-ahead-phone", "manager", "/plan/", PHONE, False),
        ("calendar", "manager", "/calendar/", DESK, False),
        ("calendar-phone", "manager", "/calendar/", PHONE, False),
        ("minutes", "manager", "/plan/minutes/", DESK, False),
        ("people-at-work", "manager", "/plan/people/", DESK, False),
        ("keys", "admin", "/keys/", DESK, False),
        ("api", "admin", "/api/", DESK, False),
        ("stringing", stringing.person.username, bench("stringing", stringing.blind.code), TABLET, False),
        ("checking", checking.person.username, bench("checking", checking.blind.code), TABLET, False),
        ("queue-phone", railing.person.username, "/stations/railing/", PHONE, False),
        ("not-yet", railing.person.username, bench("packing", railing.blind.code), TABLET, False),
        ("unknown-number", railing.person.username, "/stations/railing/scan/?code=9999-1", TABLET, False),
        ("stations", railing.person.username, "/stations/", TABLET, False),
        ("day-sheet-tablet", "manager", "/day/", TABLET, False),
        ("blind", "manager", f"/blinds/{railing.blind.code}/", DESK, False),
        ("parts", "manager", f"/orders/{released.number}/parts/", TABLET, False),
        ("catalogue", "manager", "/catalogue/", DESK, False),
        ("people", "admin", "/people/", DESK, False),
        ("refused", "maker", "/orders/", DESK, False),
        ("no-such-page", "sales", "/orders/999999/", DESK, False),
        ("sign-in", None, "/sign-in/", TABLET, False),
        ("tablet-sign-in", A_TABLET, "/tablet/", TABLET, False),
        ("tablet-sign-in-phone", A_TABLET, "/tablet/", PHONE, False),
        ("tablets", "manager", "/tablets/", DESK, False),
        ("pins-and-badges", "manager", "/tablets/people/", DESK, False),
    ]


def session_of(who):
    client = Client()
    client.force_login(Person.objects.get(username=who))
    return settings.SESSION_COOKIE_NAME, client.cookies[settings.SESSION_COOKIE_NAME].value


@cache
def enrolled():
    """The secret of a tablet at packing; it is retired at the end."""
    manager = Person.objects.get(username="manager")
    return tablets.enrol(name="Packing 2", station="packing", by=manager, at=timezone.now())[1]


def take(browser, origin, name, who, address, size, *, dark=False):
    context = browser.new_context(
        base_url=origin,
        viewport={"width": size[0], "height": size[1]},
        color_scheme="dark" if dark else "light",
    )
    if who:
        cookie, value = (tablets.COOKIE, enrolled()) if who == A_TABLET else session_of(who)
        context.add_cookies([{"name": cookie, "value": value, "url": origin}])
    page = context.new_page()
    page.goto(address)
    page.wait_for_timeout(600)
    target = WHOLE_SET / f"{name}{'-dark' if dark else ''}.png"
    page.screenshot(path=target)
    context.close()
    return target


def main(origin):
    for folder in (README, WHOLE_SET):
        folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        flags = ["--disable-gpu", "--disable-background-networking", "--no-first-run"]
        browser = playwright.chromium.launch(executable_path=chromium(), args=flags)
        for name, who, address, size, in_readme in shots():
            target = take(browser, origin, name, who, address, size)
            if in_readme:
                shutil.copy(target, README / target.name)
            if who and size == TABLET:
                take(browser, origin, name, who, address, size, dark=True)
        browser.close()
    tablets.retire(tablet=tablets.known(enrolled()), at=timezone.now())
    print(f"Pictures for the README in {README}, all of them in {WHOLE_SET}")


if __name__ == "__main__":
    main(sys.argv[1])
