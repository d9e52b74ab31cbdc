"""What is said where something can't be done: its words, approved one by one, in one form, and never a stack trace."""

import json
import sqlite3

import pytest
from django.db import OperationalError

from production import order_changes
from production.api import addresses, reading
from production.api.problems import KINDS
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import LINE

pytestmark = [pytest.mark.once, pytest.mark.django_db]


def post(body, content_type="application/json", path="/orders"):
    return lambda shop: shop.post(path, body, content_type=content_type, **{"Idempotency-Key": "a"})


def method(name, path="/orders"):
    return lambda shop: getattr(shop.client, name)(f"/api/v1{path}", headers={"Authorization": f"Bearer {shop.secret}"})


ASKED = {
    "a slash too many": (
        lambda shop: shop.get("/orders/"),
        404,
        "There is nothing at /api/v1/orders/. /api/v1/openapi.json says what there is; no address ends in /.",
    ),
    "another method": (method("delete"), 405, "/api/v1/orders doesn't take DELETE. It takes GET, HEAD, POST."),
    "a form": (
        post("a=1", content_type="application/x-www-form-urlencoded"),
        415,
        "It came as 'application/x-www-form-urlencoded'. Send JSON, with 'Content-Type: application/json'.",
    ),
    "no media type": (
        post("{}", content_type=""),
        415,
        "It came without a Content-Type. Send JSON, with 'Content-Type: application/json'.",
    ),
    "too large": (
        post(b" " * 262_145),
        413,
        "It is 262145 bytes long, and 262144 are read. Split the order, or leave out what isn't needed.",
    ),
    "in pieces": (
        lambda shop: shop.post("/figures", LINE, **{"Transfer-Encoding": "chunked"}),
        400,
        "It came in pieces of unknown length. Send it whole, with its Content-Length.",
    ),
    "nothing": (post(" "), 400, "It is no JSON: Expecting value: line 1 column 2 (char 1). Correct it there."),
    "half an object": (
        post('{"lines": ['),
        400,
        "It is no JSON: Expecting value: line 1 column 12 (char 11). Correct it there.",
    ),
    "another encoding": (post(b'{"note": "caf\xe9"}'), 400, "Byte 13 is no UTF-8. Send JSON in UTF-8."),
    "not a number": (post('{"rush": NaN}'), 400, "It is no JSON: NaN is no number of JSON. Correct it there."),
    "a key twice": (
        post('{"note": "a", "note": "b"}'),
        400,
        'It is no JSON: the key "note" is given twice in one object. Correct it there.',
    ),
    "too deep": (
        post("[" * 100_000),
        400,
        "It is nested too deeply to be an order. Send what the schema says.",
    ),
    "a list": (
        post("[]"),
        422,
        "What was sent is an object or a list; it must be an object with one key for each value. Correct it.",
    ),
    "no lines": (post("{}"), 422, "lines is missing. Give it."),
    "no order of that number": (
        lambda shop: shop.get("/orders/4711"),
        404,
        "There is no order 4711 that the key {key} may know of. Take the number from where it was posted.",
    ),
    "a number beyond all": (
        lambda shop: shop.get(f"/orders/{10**40}"),
        404,
        "There is no order of that number that the key {key} may know of. Take the number from where it was posted.",
    ),
    "an unknown value after the ?": (
        lambda shop: shop.get("/orders?page=2"),
        422,
        "'page' is no key here. Leave it out, or correct it to one of state, since, limit.",
    ),
    "a limit out of bounds": (
        lambda shop: shop.get("/orders?limit=1000"),
        422,
        "limit is 1000; it must be at most 200. Correct it.",
    ),
    "a limit given twice": (
        lambda shop: shop.get("/orders?limit=1&limit=2"),
        422,
        "limit is an object or a list; it must be a whole number, without quotation marks.",
    ),
    "figures of a list": (
        post("[]", path="/figures"),
        422,
        "What was sent is no object. Send one with a key for each value.",
    ),
}


@pytest.mark.parametrize("name", ASKED)
def test_what_can_not_be_done_is_said_in_words_with_the_next_step(shop, name):
    ask, status, detail = ASKED[name]
    answer = ask(shop)
    said = answer.json()
    assert (answer.status_code, said["detail"]) == (status, detail.format(key=shop.key))
    assert answer.headers["Content-Type"] == "application/problem+json"
    kind = KINDS[said["type"].removeprefix("/api/#")]
    assert (said["title"], said["status"]) == (kind.title, kind.status) == (kind.title, status)


WRONG_VALUES = [
    (
        {"width_mm": "1830"},
        'width_mm is "1830"; it must be a length in millimetres from 100 to 10000, whole or in tenths.',
    ),
    (
        {"width_mm": 1830.25},
        "width_mm is 1830.25; it must be a length in millimetres from 100 to 10000, whole or in tenths.",
    ),
    (
        {"width_mm": 1e300},
        'width_mm is "a number too large to repeat"; it must be a length in millimetres from 100 to 10000',
    ),
    ({"drop_mm": True}, "drop_mm is true; it must be a length in millimetres from 100 to 10000, whole or in tenths."),
    ({"drop_mm": None}, "drop_mm is null; it must be a length in millimetres from 100 to 10000, whole or in tenths."),
    ({"control_drop_mm": "long"}, 'control_drop_mm is "long"; it must be a length in millimetres from 50 to 5000'),
    ({"quantity": 0}, "quantity is 0; it must be at least 1. Correct it."),
    ({"quantity": 1.5}, "quantity is 1.5; it must be a whole number, without quotation marks."),
    ({"quantity": "2"}, 'quantity is "2"; it must be a whole number, without quotation marks.'),
    ({"hand": "L"}, 'hand is "L"; it must be one of left or right. Pick one.'),
    ({"vane_width_mm": 90}, "vane_width_mm is 90; it must be one of 89 or 127. Pick one."),
    ({"room": 7}, "room is 7; it must be text. Put it in quotation marks."),
    ({"room": "x" * 61}, f'room is "{"x" * 57}..."; it may have 60 characters. Shorten it.'),
    ({"room": "a\x00b"}, "which is not of the form"),
    ({"room": "\ud800"}, 'room is "?"; it holds half a character. Send whole ones.'),
    ({"wide": 1}, "'wide' is no key here. Leave it out, or correct it to one of quantity, room, system,"),
    ({"system": "gone-40"}, "system is 'gone-40', which the catalogue doesn't offer. It offers demo-38. Pick one."),
    ({"loop_control": None}, "loop_control is missing: a blind with cord and chain names it. Give it."),
    ({"concerns": ["roof"]}, 'is "roof"; it must be one of railing, vanes, stringing, checking or packing. Pick one.'),
]


@pytest.mark.parametrize(("line", "words"), WRONG_VALUES)
def test_a_wrong_value_is_named_with_its_line_and_what_to_give_instead(shop, line, words):
    answer = shop.enter(api_desk.order({}, line))
    assert answer.status_code == 422
    (wrong,) = answer.json()["errors"]
    assert words in wrong["detail"]
    assert wrong["line"] == 1
    assert wrong["pointer"].startswith("#/lines/1/")
    assert wrong["detail"] == answer.json()["detail"]


@pytest.mark.parametrize(
    ("head", "pointer"),
    [
        ({"due_on": "18.3.2026"}, "#/due_on"),
        ({"due_on": "20260318"}, "#/due_on"),
        ({"due_on": "2026-02-30"}, "#/due_on"),
        ({"market": "mars"}, "#/market"),
        ({"confirm": "yes"}, "#/confirm"),
        ({"customer": {"id": "7"}}, "#/customer/id"),
        ({"customer": {"id": 7, "name": "Both"}}, "#/customer/name"),
        ({"customer": {"name": ""}}, "#/customer/name"),
        ({"customer": {"name": " Ashdown"}}, "#/customer/name"),
        ({"customer": {"name": "A", "email": "nobody"}}, "#/customer/email"),
        ({"customer": {"name": "A", "email": "a@b.example\nBcc: c@d.example"}}, "#/customer/email"),
        ({"customer": "Ashdown"}, "#/customer"),
        ({"a/b~c": 1}, "#/a~1b~0c"),
    ],
)
def test_a_wrong_value_of_the_head_is_pointed_at(shop, head, pointer):
    answer = shop.enter(api_desk.order(**head))
    assert answer.status_code == 422
    assert {each["pointer"] for each in answer.json()["errors"]} == {pointer}


def test_a_body_as_long_as_is_read_is_read(shop):
    body = json.dumps(api_desk.order()).encode()
    answer = shop.post("/orders", body.ljust(reading.BODY_AT_MOST), **{"Idempotency-Key": "a"})
    assert answer.status_code == 201


def test_the_longest_order_fits_and_is_entered(shop):
    long = {"room": "x" * 60, "special_instruction": "y" * 300, "recess_depth_mm": 140.5}
    answer = shop.enter(api_desk.order(*[long] * 200, note="n" * 500))
    assert answer.status_code == 201
    assert len(answer.json()["order"]["lines"]) == 200


def test_what_breaks_inside_says_nothing_of_the_inside(shop, monkeypatch, settings, caplog):
    settings.DEBUG = True
    monkeypatch.setattr(order_changes, "after", lambda change: 1 / 0)
    answer = shop.get("/changes")
    assert (answer.status_code, answer.json()["type"]) == (500, "/api/#broken")
    assert "ZeroDivisionError" not in answer.content.decode()
    assert "ZeroDivisionError" in caplog.text


def test_a_busy_database_says_to_send_it_again(shop, monkeypatch):
    def locked(change):
        busy = sqlite3.OperationalError("database is locked")
        busy.sqlite_errorcode = sqlite3.SQLITE_BUSY
        raise OperationalError("database is locked") from busy

    monkeypatch.setattr(order_changes, "after", locked)
    answer = shop.get("/changes")
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "1")
    assert answer.json()["detail"] == "The database is busy with something else. Send the same again after 1 s."


def test_head_is_answered_as_get(shop):
    assert method("head")(shop).status_code == 200


@pytest.mark.parametrize("path", ["", "/", "/order", "/orders/x", "/orders/-1", "/orders/1/blind", "/orders/1/2", "/é"])
def test_whatever_is_not_there_is_told_so_in_the_same_form(client, path):
    factories.order(lines=[{}])
    answer = client.get(f"/api/v1{path}")
    assert (answer.status_code, answer.json()["type"]) == (404, "/api/#not-there")


def test_every_kind_of_problem_says_what_to_do_and_is_documented_by_some_operation():
    known = {key for view in addresses.VIEWS.values() for each in view.operations for key in each.problems}
    assert set(KINDS) - known == {"no-key", "wrong-method", "too-many", "busy", "broken"} - known
    assert all(kind.means.endswith(".") for kind in KINDS.values())


def test_the_plain_line_of_these_tests_can_be_made(shop):
    assert shop.enter({"customer": {"name": "A"}, "lines": [LINE]}).status_code == 201
