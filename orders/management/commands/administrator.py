"""Enters the first person, who may then let everybody else in under People."""

import getpass

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from orders.models import Person
from orders.roles import ADMINISTRATOR, MANAGER


class Command(BaseCommand):
    help = "Enters a person who is administrator and manager, and asks for a password."

    def add_arguments(self, parser):
        parser.add_argument("name", help="what the person types to sign in, such as ida")

    def handle(self, *, name, **options):
        person = Person(username=name, roles=[ADMINISTRATOR, MANAGER])
        try:
            person.full_clean(exclude=["password"])
            password = self._asked(person)
        except ValidationError as wrong:
            raise CommandError(" ".join(wrong.messages)) from None
        person.set_password(password)
        person.save()
        self.stdout.write(f"{name} may sign in now, and let others in under People.")

    def _asked(self, person):
        password = getpass.getpass("A password, which is not shown as you type: ")
        validate_password(password, person)
        if getpass.getpass("The same once more: ") != password:
            raise CommandError("The two were not the same. Nothing was entered; start again.")
        return password
