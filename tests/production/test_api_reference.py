"""The OpenAPI document and its page for people: whole, and true to what there is."""

import json
import re

import jsonschema_rs
import pytest
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.urls import reverse

from calc import spec
from orders.models import Customer, Order, OrderLine
from orders.models.api_keys import SCOPES
from production.api import for_people, reading, words
from production.api.addresses import VIEWS
from production.api.problems import KINDS
from production.api.reference import ROOT, document
from tests.production import api_desk
from tests.production.api_desk import Program

pytestmark = pytest.mark.once


def test_the_document_names_every_address_and_method_that_there_is():
    from production.api.urls import urlpatterns

    views = {pattern.callback for pattern in urlpatterns if hasattr(pattern.callback, "operations")}
    assert views == set(VIEWS.values())
    told = {(path, method) for path, methods in document()["paths"].items() for method in methods}
    there = {(ROOT + path, each.method.lower()) for path, view in VIEWS.items() for each in view.operations}
    assert told == there


def test_the_addresses_of_the_document_lead_to_their_views(rf):
    from django.urls import resolve

    for path, view in VIEWS.items():
        assert resolve(ROOT + path.replace("{number}", "7")).func is view


def test_every_shape_that_is_pointed_to_is_there_and_every_shape_is_pointed_to():
    text = json.dumps(document())
    assert set(re.findall(r'"#/components/schemas/(\w+)"', text)) == set(document()["components"]["schemas"])


def test_each_shape_is_a_valid_json_schema_of_2020_12():
    shapes = document()["components"]["schemas"]
    for name in shapes:
        jsonschema_rs.validator_for({"$ref": f"#/$defs/{name}", "$defs": json.loads(in_defs(shapes))})


def in_defs(shapes):
    return json.dumps(shapes).replace("#/components/schemas/", "#/$defs/")


def test_the_example_fits_its_shape_and_can_be_ordered(db):
    api_desk.catalogue()
    assert words.NewOrder.model_validate(words.EXAMPLE)
    assert Program().enter(words.EXAMPLE).status_code == 201


def test_every_answer_outside_200_and_201_is_a_problem():
    for methods in document()["paths"].values():
        for said in methods.values():
            for status, answer in said["responses"].items():
                kind = "application/json" if status in ("200", "201") else "application/problem+json"
                assert list(answer["content"]) == [kind]


def test_a_line_says_what_the_figures_read_under_the_same_names():
    read = set(spec.KEYS) - {"market", "measured_chain_mm", "fabric_g_per_m2"}
    assert read <= set(words.Line.model_fields)


@pytest.mark.parametrize(
    ("model", "table", "names"),
    [
        (words.NamedCustomer, Customer, ("name", "contact", "phone", "address")),
        (words.NewOrder, Order, ("reference", "note")),
        (words.Line, OrderLine, ("room", "special_instruction")),
    ],
)
def test_texts_are_as_long_as_the_office_may_type_them(model, table, names):
    said = model.model_json_schema()["properties"]
    assert {name: said[name]["maxLength"] for name in names} == {
        name: table._meta.get_field(name).max_length for name in names
    }


@pytest.mark.parametrize(
    ("address", "taken"),
    [
        ("buying@ashdown.example", True),
        ("first.last+orders@mail.ashdown-rooms.example", True),
        ("a@b.co", True),
        ("nobody", False),
        ("a@b", False),
        (".a@b.example", False),
        ("a..b@c.example", False),
        ("a@-b.example", False),
        ("a@b-.example", False),
        ("a b@c.example", False),
        ("a@b.example\n", False),
        ("a@b.example, c@d.example", False),
    ],
)
def test_an_e_mail_that_is_taken_is_one_that_the_office_could_type(address, taken):
    found, wrong = reading.checked(words.NamedCustomer, {"name": "A", "email": address})
    assert bool(found) is taken, wrong
    if taken:
        validate_email(address)
    else:
        with pytest.raises(ValidationError):
            validate_email(address)


# The page for people


@pytest.mark.django_db
def test_the_page_explains_every_operation_shape_scope_and_problem(client):
    page = client.get(reverse("api")).content.decode()
    shapes = set(document()["components"]["schemas"]) - {"JsonValue"}
    for name in (*shapes, *dict(SCOPES), *(kind.title for kind in KINDS.values())):
        assert name.replace("'", "&#x27;") in page
    for operation in for_people.operations(document()):
        assert f'id="{operation["id"]}"' in page
    for kind in KINDS:
        assert f'id="{kind}"' in page
    assert "<script" not in page.split("<main")[1]


@pytest.mark.django_db
def test_every_link_on_the_page_leads_to_a_place_on_it(client):
    page = client.get(reverse("api")).content.decode().split("<main")[1]
    places = set(re.findall(r'id="([^"]+)"', page))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= places


@pytest.mark.parametrize(
    ("schema", "kind"),
    [
        ({"type": "string"}, "text"),
        ({"type": "string", "maxLength": 60, "minLength": 0}, "text (up to 60)"),
        ({"type": "string", "format": "date"}, "day"),
        ({"type": "number", "minimum": 100, "maximum": 10000, "multipleOf": 0.1}, "number 100 to 10000, in tenths"),
        ({"type": "integer", "minimum": 1, "maximum": 99}, "whole number 1 to 99"),
        ({"enum": ["left", "right"]}, "left, right"),
        ({"anyOf": [{"type": "boolean"}, {"type": "null"}]}, "true or false or null"),
        (
            {"type": "array", "items": {"type": "integer"}, "minItems": 1, "maxItems": 5},
            "list of whole number (1 to 5)",
        ),
    ],
)
def test_a_value_is_said_in_words(schema, kind):
    assert for_people.kind(schema) == kind
