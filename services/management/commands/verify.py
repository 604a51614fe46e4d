"""`manage.py verify`: is the journal as it was kept, and do the records say the same?"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from services.management.files import told_plainly
from services.verifying import verify
from treatments.exporting import NoExport
from treatments.rules.checkpoints import NoCheckpoint, read_checkpoint
from treatments.verifying import verify_export

GOOD, ALTERED, NOT_RUN = 0, 1, 2
MOST_SHOWN = 20


class Command(BaseCommand):
    """Ends with 0 when all is as it was kept, 1 when something was altered, 2 when unknown."""

    help = "Check the journal and its records; ends with 0 good, 1 altered, 2 could not run."
    requires_system_checks = []  # what they refuse, such as a missing trigger, is to be told here

    def add_arguments(self, parser):
        parser.add_argument(
            "--checkpoint",
            type=Path,
            action="append",
            default=[],
            metavar="FILE",
            help="a checkpoint that somebody else kept; may be given again",
        )
        parser.add_argument(
            "--export", type=Path, metavar="FILE", help="check an exported journal instead"
        )

    def handle(self, *, checkpoint, export, **options):
        verdict = self.verdict(checkpoint, export)
        records = "" if export else f"{verdict.records} records, "
        self.stdout.write(
            f"{verdict.size} entries, {records}{verdict.checkpoints} checkpoints, "
            f"root {verdict.root or 'none'}"
        )
        if verdict.count == 0:
            self.stdout.write("All is as it was kept.")
            return
        for fault in verdict.faults[:MOST_SHOWN]:
            self.stdout.write(fault.say())
        if verdict.count > MOST_SHOWN:
            self.stdout.write(f"and {verdict.count - MOST_SHOWN} more")
        raise CommandError(f"Altered. First: {verdict.first().say()}", returncode=ALTERED)

    def tell(self, files, size):
        """Tell the person at the terminal at once how far the photos are read."""
        self.stderr.write(f"{files:,} photos read, {size / 1_000_000:,.0f} MB")

    def verdict(self, checkpoint, export):
        """Return what the check found; end with 2 where it cannot be made."""
        try:
            with told_plainly("Could not run", NOT_RUN):
                outside = [path.read_text(encoding="utf-8") for path in checkpoint]
                for text in outside:
                    read_checkpoint(text)
                return verify_export(export, outside) if export else verify(outside, tell=self.tell)
        except (UnicodeDecodeError, NoCheckpoint, NoExport, DatabaseError) as error:
            raise CommandError(f"Could not run: {error}", returncode=NOT_RUN) from error
