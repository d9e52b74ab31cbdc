"""The OpenAPI 3.1 document of all that can be asked for, made from the operations and models that answer."""

from functools import cache
from inspect import getdoc

from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from orders import api_keys

from . import problems, says
from .addresses import VIEWS
from .entry import IDEMPOTENCY_KEY, LONGEST_KEY
from .problems import KINDS
from .reading import BODY_AT_MOST

ROOT = "/api/v1"
VERSION = "1.0.0"
EVERY_TIME = ("no-key", "too-many", "busy", "broken")
"""Kinds of problem that may come whatever is asked for."""

ABOUT = f"""Orders in, states out. Lengths are millimetres, whole or in tenths; times are UTC; JSON is UTF-8.

Ask with the header 'Authorization: Bearer' and a key that an administrator has made. A key that is for certain
customers sees their orders and no others. A key may ask {api_keys.PER_MINUTE} times a minute, and {api_keys.AT_ONCE}
times at once after a rest. A body may have {BODY_AT_MOST // 1024} KiB."""

HEADERS = {
    401: {"WWW-Authenticate": "How to ask: with a bearer token."},
    429: {"Retry-After": "Seconds to wait."},
    503: {"Retry-After": "Seconds to wait."},
    201: {
        "Location": "Where the order is to be read.",
        "Idempotent-Replay": "true where the order was there already, and this is its first answer again.",
    },
}


class Untitled(GenerateJsonSchema):
    """A value has a name; it needs no title that says the same with capitals."""

    def field_title_should_be_set(self, schema):
        return False


@cache
def document():
    models, shared = _models()
    paths = {
        f"{ROOT}{path}": {
            operation.method.lower(): _operation(operation, models, path) for operation in view.operations
        }
        for path, view in VIEWS.items()
    }
    return {
        "openapi": "3.1.0",
        "info": {"title": "Orders of the workshop", "version": VERSION, "description": ABOUT},
        "servers": [{"url": "/"}],
        "security": [{"key": []}],
        "paths": paths,
        "components": {
            "schemas": shared["$defs"],
            "securitySchemes": {"key": {"type": "http", "scheme": "bearer", "description": "A key of the workshop."}},
        },
    }


def _models():
    operations = [operation for view in VIEWS.values() for operation in view.operations]
    sent = {(each.body, "validation") for each in operations if each.body}
    said = {(each.says, "serialization") for each in operations} | {(says.ProblemDetails, "serialization")}
    ordered = sorted(sent | said, key=lambda pair: pair[0].__name__)
    return models_json_schema(ordered, ref_template="#/components/schemas/{model}", schema_generator=Untitled)


def _operation(operation, models, path):
    said = {
        "operationId": operation.name,
        "summary": operation.summary,
        "description": _described(operation),
        "responses": _responses(operation, models),
    }
    if parameters := _parameters(operation, path):
        said["parameters"] = parameters
    if operation.body:
        schema = models[operation.body, "validation"]
        said["requestBody"] = {"required": True, "content": {"application/json": {"schema": schema}}}
    return said


def _described(operation):
    takes = f"Takes a key with the scope {operation.scope}." if operation.scope else "Takes any key."
    return f"{getdoc(operation.answer)}\n\n{takes}"


def _parameters(operation, path):
    found = []
    if "{number}" in path:
        schema = {"type": "integer", "minimum": 1, "maximum": 999_999}
        found.append({"name": "number", "in": "path", "required": True, "schema": schema})
    if operation.takes_idempotency_key:
        schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY, "pattern": "^[!-~]+$"}
        means = "Made by you for each order, such as a UUID. Sent again under it, the same order is answered again."
        found.append(
            {"name": IDEMPOTENCY_KEY, "in": "header", "required": True, "schema": schema, "description": means}
        )
    if operation.query:
        fields = operation.query.model_json_schema(schema_generator=Untitled)
        for name, schema in fields["properties"].items():
            found.append({"name": name, "in": "query", "required": False, "schema": _without_null(schema)})
    return found


def _without_null(schema):
    """A value of an address is left out or is there; it is never null."""
    choices = [each for each in schema.get("anyOf", ()) if each.get("type") != "null"]
    if len(choices) == 1:
        rest = {name: value for name, value in schema.items() if name not in ("anyOf", "default")}
        return {**rest, **choices[0]}
    return schema


def _responses(operation, models):
    good = {
        "description": getdoc(operation.says),
        "content": {"application/json": {"schema": models[operation.says, "serialization"]}},
    }
    found = {operation.status: good | _headers(operation.status)}
    problem = {problems.MEDIA_TYPE: {"schema": models[says.ProblemDetails, "serialization"]}}
    for kind in (KINDS[key] for key in (*operation.problems, *EVERY_TIME)):
        said = f"{kind.title}. {kind.means}"
        before = found.get(kind.status)
        described = f"{before['description']} Or: {said}" if before and before["description"] != said else said
        found[kind.status] = {"description": described, "content": problem} | _headers(kind.status)
    return {str(status): found[status] for status in sorted(found)}


def _headers(status):
    """Each answer to a post says where the order is; others of that status don't occur."""
    named = HEADERS.get(status, {})
    headers = {name: {"schema": {"type": "string"}, "description": means} for name, means in named.items()}
    return {"headers": headers} if headers else {}
