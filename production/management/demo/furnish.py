"""The demo's people, hardware system, fabrics and customers, from fixtures/demo/workshop.toml."""

import hashlib
import hmac
import tomllib

from django.conf import settings

from calc.system import DEMO_38
from orders import catalogue, intake
from orders.models import Person

INVENTED = settings.BASE_DIR / "fixtures" / "demo" / "workshop.toml"


def invented():
    return tomllib.loads(INVENTED.read_text(encoding="utf-8"))


def password(*, username, words):
    """A password for the demo, such as 'heron-linen-cobalt-27': it follows from this server's SECRET_KEY alone, so it
    can be shown again and is kept nowhere."""
    digest = hmac.new(settings.SECRET_KEY.encode(), f"demo {username}".encode(), hashlib.sha256).digest()
    picked = [words[byte % len(words)] for byte in digest[:3]]
    return "-".join([*picked, str(10 + digest[3] % 90)])


def furniture(given, *, by, at):
    """What orders are entered with, by the names of `book.enter`: the system that `by` publishes, fabrics and words."""
    return {
        "system": publish_system(by=by, at=at),
        "fabrics": add_fabrics(fabrics=given["fabrics"]),
        "rooms": given["rooms"],
        "instructions": given["instructions"],
    }


def add_people(*, people, words):
    """The people by user name."""
    return {
        given["username"]: Person.objects.create_user(
            username=given["username"],
            password=password(username=given["username"], words=words),
            first_name=given["first_name"],
            last_name=given["last_name"],
            roles=given["roles"],
        )
        for given in people
    }


def publish_system(*, by, at):
    system = catalogue.add_system(code=DEMO_38.code, name="Demo 38", constants=DEMO_38, by=by, at=at)
    catalogue.publish(revision=system.revisions.get(), by=by, at=at)
    return system


def add_fabrics(*, fabrics):
    return [
        catalogue.add_fabric(
            code=f"{given['name']}-{colour}-{width}".lower().replace(" ", "-"),
            name=given["name"],
            colour=colour,
            vane_width_mm=width,
            weight_g_per_m2=given["weight_g_per_m2"],
            stiffness=given["stiffness"],
        )
        for given in fabrics
        for colour in given["colours"]
        for width in given["widths"]
    ]


def add_customers(*, customers):
    return [intake.add_customer(**given) for given in customers]
