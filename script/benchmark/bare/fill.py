"""Fills the floor's database: `python -m script.benchmark.bare.fill FILE`, with {"pages": {name: rows}, "people": n,
"things": n}. Prints the session cookies of its people and the keys of its things as JSON."""

import json
import os
import sys
from pathlib import Path


def main():
    os.environ["DJANGO_SETTINGS_MODULE"] = "script.benchmark.bare.settings"
    import django

    django.setup()
    from django.contrib.auth.models import User
    from django.core.management import call_command
    from django.test import Client

    from script.benchmark.bare.models import Row, Thing

    call_command("migrate", run_syncdb=True, verbosity=0)
    wanted = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    for name, rows in wanted["pages"].items():
        Row.objects.bulk_create(
            Row(page=name, position=position, shape=shape, shown=shown) for position, (shape, shown) in enumerate(rows)
        )
    cookies = []
    for number in range(wanted["people"]):
        client = Client()
        client.force_login(User.objects.create_user(f"person{number}"))
        cookies.append(f"sessionid={client.cookies['sessionid'].value}")
    things = Thing.objects.bulk_create(Thing() for _ in range(wanted["things"]))
    print(json.dumps({"cookies": cookies, "things": [thing.pk for thing in things]}))


if __name__ == "__main__":
    main()
