"""Reads what a program sent, and says of each value that is wrong what to give instead."""

import json
from decimal import Decimal, InvalidOperation
from typing import get_args

from pydantic import BaseModel, ValidationError

from .problems import Problem, error
from .words import repeated

BODY_AT_MOST = 256 * 1024
"""Bytes; 200 lines with every value given are some 150,000."""


def json_of(request, *, decimals=None):
    """What `request` sends, as JSON values; a number with a point is an exact Decimal, or what `decimals` makes of its
    text. Raises Problem."""
    if request.content_type != "application/json":
        given = f"It came as {request.content_type!r}." if request.content_type else "It came without a Content-Type."
        raise Problem("not-json", f"{given} Send JSON, with 'Content-Type: application/json'.")
    _require_size(request)
    try:
        text = request.body.decode("utf-8")
        return json.loads(
            text, parse_float=decimals or _decimal, parse_constant=_no_number, object_pairs_hook=_once_each
        )
    except UnicodeDecodeError as trouble:
        raise Problem("unreadable", f"Byte {trouble.start} is no UTF-8. Send JSON in UTF-8.") from None
    except RecursionError:
        raise Problem("unreadable", "It is nested too deeply to be an order. Send what the schema says.") from None
    except ValueError as trouble:
        raise Problem("unreadable", f"It is no JSON: {trouble}. Correct it there.") from None


def _require_size(request):
    if request.headers.get("Transfer-Encoding"):
        raise Problem("unreadable", "It came in pieces of unknown length. Send it whole, with its Content-Length.")
    try:
        size = int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        size = 0
    if size > BODY_AT_MOST:
        raise Problem(
            "too-large",
            f"It is {size} bytes long, and {BODY_AT_MOST} are read. Split the order, or leave out what isn't needed.",
            headers={"Connection": "close"},
        )


def _decimal(text):
    try:
        return Decimal(text)
    except InvalidOperation:
        raise ValueError(f"{text[:40]} is no number that can be read") from None


def _no_number(name):
    raise ValueError(f"{name} is no number of JSON")


def _once_each(pairs):
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {json.dumps(twice)[:60]} is given twice in one object")
    return found


def read(model, given):
    """`given` as a `model`. Raises Problem with everything that is wrong at once."""
    found, errors = checked(model, given)
    if errors:
        raise Problem("invalid", summary(errors), errors=errors)
    return found


def checked(model, given):
    """`given` as a `model`, or None, and everything that is wrong with it."""
    try:
        return model.model_validate(given), []
    except ValidationError as wrong:
        return None, [_error(model, found) for found in wrong.errors(include_url=False)]


def summary(errors):
    first, more = errors[0]["detail"], len(errors) - 1
    return first if not more else f"{first} And {more} more: see errors."


def query_of(request, model):
    """The values after the question mark as a `model`. Raises Problem."""
    given = {name: values[0] if len(values) == 1 else values for name, values in request.GET.lists()}
    # Everything in an address is text; what should be a whole number is read as one.
    for name, field in model.model_fields.items():
        value = given.get(name)
        if field.annotation is int and isinstance(value, str) and value.isascii() and value.isdecimal():
            given[name] = int(value[:12])
    return read(model, given)


# What is wrong, by the name that pydantic has for it: what the value must be, and the next step.
MUST_BE = {
    "string_type": "it must be text. Put it in quotation marks.",
    "string_unicode": "it holds half a character. Send whole ones.",
    "int_type": "it must be a whole number, without quotation marks.",
    "bool_type": "it must be true or false.",
    "list_type": "it must be a list. Put it between [ and ].",
    "model_type": "it must be an object with one key for each value. Correct it.",
    "model_attributes_type": "it must be an object with one key for each value. Correct it.",
    "greater_than_equal": "it must be at least {ge}. Correct it.",
    "less_than_equal": "it must be at most {le}. Correct it.",
    "string_too_long": "it may have {max_length} characters. Shorten it.",
    "string_too_short": "it must have {min_length} character or more. Give it.",
    "too_long": "it may have {max_length} entries. Split the order.",
    "too_short": "it must have {min_length} entry or more. Give it.",
    "literal_error": "it must be one of {expected}. Pick one.",
}


def _error(model, found):
    # The union of customers puts its own name into the way there.
    way = [each for each in found["loc"] if each not in ("known", "named")]
    field = next((each for each in reversed(way) if isinstance(each, str)), "")
    in_line = len(way) > 1 and way[0] == "lines" and isinstance(way[1], int)
    return error(
        pointer="#" + "".join(f"/{_escaped(each)}" for each in way),
        line=way[1] if in_line else None,
        field=repeated(field),
        value=None if found["type"] == "missing" else repeated(found["input"]),
        code=found["type"],
        detail=_detail(model, found, way, field),
    )


def _detail(model, found, way, field):
    kind, value = found["type"], repeated(found["input"])
    here = model_at(model, way[:-1])
    name = repeated(field) or "What was sent"
    if kind == "missing":
        choices = _choices(here, field)
        return f"{name} is missing. " + (f"Give one of {choices}." if choices else "Give it.")
    if kind == "extra_forbidden":
        known = ", ".join(here.model_fields) if here else ""
        return f"{name!r} is no key here. Leave it out, or correct it to one of {known}."
    said = (
        "an object or a list" if value is None and found["input"] is not None else json.dumps(value, ensure_ascii=False)
    )
    if kind == "string_pattern_mismatch":
        return f"{name} is {said}, which is not of the form {found['ctx']['pattern']}. Correct it."
    must = MUST_BE.get(kind)
    words = must.format(**found.get("ctx", {})).replace("'", "") if must else f"{found['msg']}. Correct it."
    return f"{name} is {said}; {words}"


def model_at(model, way):
    """The model that holds the value to which `way` leads from `model`, or None where it leads through several."""
    for step in way:
        if isinstance(step, str):
            field = model.model_fields.get(step) if model else None
            model = next(iter(_models(field.annotation)), None) if field else None
    return model


def _models(annotation):
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in get_args(annotation) for found in _models(part)]


def _choices(model, name):
    field = model.model_fields.get(name) if model else None
    values = get_args(field.annotation) if field else ()
    plain = [str(value) for value in values if isinstance(value, str | int)]
    return ", ".join(plain) if len(plain) == len(values) else ""


def _escaped(step):
    """A step of a JSON pointer: RFC 6901, 3."""
    return repeated(str(step)).replace("~", "~0").replace("/", "~1")
