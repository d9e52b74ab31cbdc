"""A tablet whose network is cut and comes back, for tests in the browser."""

import re
import time

from playwright.sync_api import Error, expect

from tests.conftest import PATIENCE_MS

OFFLINE = r"ERR_INTERNET_DISCONNECTED|ERR_FAILED|htmx:(sendError|sendAbort|timeout|afterRequest)|fetching the script"
"""What the browser reports of a page that has no network."""

SENT = re.compile("/(outbox|record)/$")

NOTHING_SENT = """(() => {
    const plain = window.fetch;
    window.fetch = (asked, ...more) => name === 'cut' && /\\/(outbox|record)\\/$/.test(asked.url ?? asked)
        ? Promise.reject(new TypeError('Failed to fetch')) : plain(asked, ...more);
})()"""
"""A page's name stays with its tab, whatever page takes its place."""

IS_KEPT = """async paths => {
    const parts = performance.getEntriesByType('resource').map(({name}) => new URL(name).pathname)
        .filter(path => path.startsWith('/static/'));
    const found = await Promise.all([...paths, ...parts].map(path => caches.match(path)));
    return navigator.serviceWorker.controller !== null && found.every(each => each);
}"""
IS_SENT = """() => new Promise(done => {
    indexedDB.open('railwright').onsuccess = ({target: {result: db}}) => {
        db.transaction('entries').objectStore('entries').count().onsuccess = ({target}) => {
            db.close();
            done(target.result === 0);
        };
    };
})"""


def until(page, holds, *given):
    """Wait until a function of the page, which may take its time, answers true; whatever page stands there by then."""
    latest = time.monotonic() + PATIENCE_MS / 1000
    while time.monotonic() < latest:
        try:
            if page.evaluate(holds, *given):
                return
        except Error as left:
            if "navigation" not in left.message:
                raise
        page.wait_for_timeout(50)
    raise AssertionError(f"never true within {PATIENCE_MS} ms: {holds} {given}")


def kept(page, *paths):
    """Wait until the tablet keeps these pages and what they need."""
    until(page, IS_KEPT, list(paths))


def away(page):
    """Cut the network. The browser may forget that for a moment while a page takes another's place: nothing is sent."""
    page.context.route(SENT, _cut)
    page.add_init_script(NOTHING_SENT)
    page.evaluate("name = 'cut'")
    page.context.set_offline(True)
    expect(waiting(page)).to_contain_text("No connection since")


def back(page):
    """The network is back, and everything that waited is answered."""
    in_reach(page)
    sent(page)
    expect(waiting(page)).to_be_hidden()


def in_reach(page):
    """The network is back."""
    page.evaluate("name = ''")
    page.context.unroute(SENT, _cut)
    page.context.set_offline(False)


def _cut(asked):
    asked.abort("internetdisconnected")


def sent(page):
    """Wait until nothing waits for an answer."""
    until(page, IS_SENT)


def waiting(page):
    """The band that says whether there is a connection and what waits."""
    return page.locator("#connection")
