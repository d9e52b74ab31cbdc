from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from orders import audit, throttle, versions
from orders.sessions import SessionStore


class Command(BaseCommand):
    help = "Removes sessions that are over, tries to sign in that are back, and what the audit has kept long enough."

    def handle(self, **options):
        if said := versions.misfit():
            raise CommandError(f"Nothing was removed. {said}")
        at = timezone.now()
        SessionStore.clear_expired()
        throttle.forget(at=at)
        gone = audit.forget(at=at)
        self.stdout.write(f"{gone} entries of the audit were old enough to go. What is over of sessions is gone too.")
