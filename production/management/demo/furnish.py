"""The demo's people, hardware system, fabrics and customers, from fixtures/demo/workshop.toml."""

import hashlib
import hmac
import tomllib

from django.conf import settings

from calc.system import DEMO_38
from orders import intake
from orders.models import Fabric, HardwareSystem, Person, SystemRevision

INVENTED = settings.BASE_DIR / "fixtures" / "demo" / "workshop.toml"


def invented():
    return tomllib.loads(INVENTED.read_text(encoding="utf-8"))


def password(*, username, words):
    """A password for the demo, such as 'heron-linen-cobalt-27': it follows from this server's SECRET_KEY alone, so it
    can be shown again and is kept nowhere."""
    digest = hmac.new(settings.SECRET_KEY.encode(), f"demo {username}".encode(), hashlib.sha256).digest()
    picked = [words[byte % len(words)] for byte in digest[:3]]
    return "-".join([*picked, str(10 + digest[3] % 90)])


def furniture(given, *, at):
    """What orders are entered with, by the names of `book.enter`: the system, published at `at`, fabrics and words."""
    return {
        "system": publish_system(at=at),
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


def publish_system(*, at):
    system = HardwareSystem.objects.create(code=DEMO_38.code, name="Demo 38")
    SystemRevision.objects.create(
        system=system,
        number=DEMO_38.revision,
        state=SystemRevision.PUBLISHED,
        constants=DEMO_38.to_dict(),
        published_at=at,
    )
    return system


def add_fabrics(*, fabrics):
    return [
        Fabric.objects.create(
            code=f"{given['name']}-{colour}-{width}".lower().replace(" ", "-"),
            name=given["name"],
            colour=colour,
            vane_width_mm=width,
            weight_g_per_m2=given["weight_g_per_m2"],
        )
        for given in fabrics
        for colour in given["colours"]
        for width in given["widths"]
    ]


def add_customers(*, customers):
    return [intake.add_customer(**given) for given in customers]
