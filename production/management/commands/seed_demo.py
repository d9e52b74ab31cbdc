"""Fill an empty database with an invented workshop, half-way through its day."""

import datetime as dt
import random

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from orders.models import Order, Person
from orders.roles import ROLE_NAMES
from production.management.demo import desk
from production.management.demo.book import book
from production.management.demo.furnish import (
    add_customers,
    add_people,
    add_tablets,
    furniture,
    invented,
    password,
    pin,
    plan_ahead,
)
from production.management.demo.workshop import Worker, Workshop
from production.management.demo.worktime import shifts

BLINDS = 305
BLINDS_A_DAY = 13.5
UNFINISHED = 105
"""About so many blinds are on their way through the workshop, or not released yet, at the end."""
WEEKDAYS = 20


class Command(BaseCommand):
    help = (
        "Fills an empty database with an invented workshop of three weeks, half-way through today. Prints the sign-ins."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--show", action="store_true", help="print the sign-ins of a demo seeded before, and no more"
        )
        parser.add_argument("--blinds", type=int, default=BLINDS, help=f"about how many blinds, 40 or more ({BLINDS})")
        parser.add_argument("--seed", type=int, default=38, help="another number, another workshop (38)")
        parser.add_argument("--at", type=dt.datetime.fromisoformat, help="seed as if it were this time, with its zone")

    def handle(self, *, show, blinds, seed, at, **options):
        given = invented()
        if show:
            self.require_same_key(given)
            return self.show(given)
        if Order.objects.exists() or Person.objects.exists():
            raise CommandError("This database has orders or people already. Seed the demo into an empty one.")
        if blinds < 40:
            raise CommandError(f"--blinds {blinds} is too few to show every state. Give 40 or more.")
        if at and not at.tzinfo:
            raise CommandError(f"--at {at.isoformat()} has no zone. Write it with one, such as {at.isoformat()}+00:00.")
        with transaction.atomic():
            workshop = self.seed(given, blinds=blinds, seed=seed, at=at or timezone.now())
        self.stdout.write(f"{len(workshop.entries)} orders, {len(workshop.pieces)} blinds, {workshop.events} events. ")
        return self.show(given)

    def seed(self, given, *, blinds, seed, at):
        at = at.astimezone(dt.UTC).replace(microsecond=0)
        zone = timezone.get_default_timezone()
        rng = random.Random(f"{seed} {at:%Y-%m-%d}")  # noqa: S311 - a demo's chance, not a secret
        days = min(WEEKDAYS, max(2, round((blinds - UNFINISHED) / BLINDS_A_DAY)))
        work = shifts(at=at, days=days, zone=zone)
        people = add_people(people=given["people"], words=given["passwords"]["words"])
        customers = add_customers(customers=given["customers"])
        before = work[0].opens - dt.timedelta(days=1)
        plan_ahead(people=given["people"], persons=people, today=at.astimezone(zone).date())
        at_work = [one for one in given["people"] if "at" in one]
        workshop = Workshop(
            entries=book(customers=customers, blinds=blinds, shifts=work, zone=zone, rng=rng),
            shifts=work,
            people=people,
            workers=[Worker(people[one["username"]], tuple(one["at"]), one["pace"]) for one in at_work],
            tablets=add_tablets(by=people["manager"], at=before),
            furniture=furniture(given, by=people["manager"], at=before),
            faults=given["faults"],
            rng=rng,
            tell=self.tell,
        )
        workshop.run()
        desk.take_in_a_file(by=people["sales"], at=at)
        desk.ask_changes(sales=people["sales"], manager=people["manager"], at=at)
        desk.make_keys(by=people["admin"], made_at=before, revoked_at=work[-1].opens)
        return workshop

    def tell(self, number, workshop, *, at):
        so_far = f"{len(workshop.pieces)} blinds released, {workshop.events} events"
        line = f"Day {number} of {len(workshop.shifts)}, {at:%d %b}: {so_far}"
        self.stdout.write(line, ending="\r" if self.stdout.isatty() else "\n")
        self.stdout.flush()

    def require_same_key(self, given):
        """Refuse to show passwords that don't open this database. One is tried, since each try is slow by design."""
        one = given["people"][0]["username"]
        person = Person.objects.filter(username=one).first()
        if person is None or not person.check_password(password(username=one, words=given["passwords"]["words"])):
            raise CommandError(
                f"{one} can't sign in here with the demo's password: the database is not the demo's, the password was "
                "changed, or SECRET_KEY is not the one that it was seeded under. Set that, or seed an empty database."
            )

    def show(self, given):
        """Who can sign in, each with the password and the PIN that follow from SECRET_KEY."""
        self.stdout.write("To try a tablet, sign in as manager in another browser and enrol it under Tablets.")
        self.stdout.write("Sign in as (user name, password):")
        for one in given["people"]:
            word = password(username=one["username"], words=given["passwords"]["words"])
            does = ", ".join([*(ROLE_NAMES[role].lower() for role in one["roles"]), *one.get("at", [])[:1]])
            if "at" in one:
                does += f"; PIN {pin(username=one['username'])}"
            self.stdout.write(f"  {one['username']:<9} {word:<27} {one['first_name']} {one['last_name']} ({does})")
