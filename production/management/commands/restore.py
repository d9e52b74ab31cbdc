"""Restores a backup into an empty database, or with --replace into the one that there is, after a backup of that.

The file is held against its SHA-256 first. What was restored is brought up to this version and checked: every blind
must stand as its log says. Stop the server before, and start it after. It ends with 0 where all is well, else with 1.
"""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.formats import date_format

from production.backup import taking


class Command(BaseCommand):
    help = __doc__
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--replace", action="store_true", help="take a backup of what there is, then replace it")

    def handle(self, *, file, replace, **options):
        try:
            restored = taking.restore(file, replace=self._back_up if replace else None)
        except taking.Failed as failed:
            raise CommandError(str(failed)) from failed
        newest = date_format(timezone.localtime(restored.newest), "D j M Y, H:i") if restored.newest else "none"
        self.stdout.write(
            f"Restored as of {restored.contents.at}, version {restored.contents.version}: {restored.orders} orders, "
            f"{restored.blinds} blinds, {restored.events} events, the newest {newest}; {restored.letters} letters.\n"
            "Each blind stands as its log says. Start the server again."
        )

    def _back_up(self):
        taken = taking.take(Path(settings.BACKUPS), at=timezone.now())
        self.stdout.write(f"What there was is kept as {taken.path}")
