"""Waiting for what a page comes to, without having it evaluate text by itself: its policy forbids that, rightly."""

import re
import time

from playwright.sync_api import Error

PATIENCE_S = 20
ON_ITS_WAY = "context was destroyed|Cannot find context|navigating|properties of null"
"""What is said where the page is another one by then, or not whole yet."""


def until(page, expression):
    """Wait until the JavaScript `expression` is true on the page, whichever it leads to meanwhile."""
    give_up = time.monotonic() + PATIENCE_S
    while not _is_true(page, expression):
        if time.monotonic() > give_up:
            raise AssertionError(f"waited {PATIENCE_S} s in vain for: {expression}")
        page.wait_for_timeout(20)


def _is_true(page, expression):
    try:
        return page.evaluate(expression)
    except Error as error:
        if not re.search(ON_ITS_WAY, str(error)):
            raise
        return False
