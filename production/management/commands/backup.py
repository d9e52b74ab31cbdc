"""Takes a backup of the workshop while it works: the database and the letters that lie as files, checked once written.

It writes one file, named by time and version, with its SHA-256 beside it, and puts away what is older than settings say
(BACKUP_DAYS, BACKUP_WEEKS). It ends with 0 where the backup is whole, else with 1 and says why.
"""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from production.backup import taking


class Command(BaseCommand):
    help = __doc__
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument(
            "folder", nargs="?", default=str(settings.BACKUPS), help="where to; %(default)s if left out"
        )

    def handle(self, *, folder, **options):
        try:
            taken = taking.take(Path(folder), at=timezone.now())
        except taking.Failed as failed:
            raise CommandError(str(failed)) from failed
        self.stdout.write(
            f"{taken.path}\n{taken.rows} rows in {taken.tables} tables, {taken.size / 1e6:.1f} MB, "
            f"{taken.seconds:.1f} s, checked. {taken.put_away} older ones were put away."
        )
