"""Does the work that pages leave to the background: mail, large papers, large files."""

from django.core.management.base import BaseCommand

from orders import worker


class Command(BaseCommand):
    help = "Do the work that waits, until told to end (Ctrl-C or SIGTERM). Several may run, on one machine or many."

    def add_arguments(self, parser):
        parser.add_argument("--once", action="store_true", help="end when nothing waits any more")

    def handle(self, *, once, **options):
        worker.serve(until_nothing_waits=once)
