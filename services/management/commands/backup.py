"""`manage.py backup`: one sealed file with everything that the book holds."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from services.management.files import plainly
from services.safekeeping import CannotKeep, NoBackup, make_backup
from services.safekeeping.keys import kept_key, key_file, make_key
from services.safekeeping.sealing import refuse_unable

NOT_RUN = 2


class Command(BaseCommand):
    """Ends with 0 when the backup is written whole, 2 when it is not."""

    help = "Write the book, its photographs and papers into one sealed file; ends with 0, else 2."

    def add_arguments(self, parser):
        parser.add_argument(
            "--to", type=Path, default=settings.BACKUPS, metavar="DIR", help="the folder"
        )

    def handle(self, *, to, **options):
        try:
            refuse_unable()
            key = kept_key() or self.new_key()
            file = make_backup(to, key=key, now=timezone.now())
        except (CannotKeep, NoBackup, OSError) as error:
            why = plainly(error) if isinstance(error, OSError) else error
            said = _("No backup was made: %(error)s") % {"error": why}
            raise CommandError(said, returncode=NOT_RUN) from error
        self.stdout.write(_("Written: %(file)s") % {"file": file})
        if not settings.BACKUP_KEY:
            self.stderr.write(
                self.style.WARNING(
                    _(
                        "The key lies in %(file)s: whoever takes this disk has key and backup, and "
                        "who loses it has neither. Keep the printed key and the backups elsewhere, "
                        "and name the key in DUSKBOOK_BACKUP_KEY_FILE instead."
                    )
                    % {"file": key_file()}
                )
            )
        self.stdout.write(_("Try it: manage.py restore --drill %(file)s") % {"file": file})

    def new_key(self):
        """Make the key and show it, for it opens every backup to come."""
        key = make_key()
        self.stdout.write(
            _(
                "This key opens the backups. Print it and keep it away from this machine; without "
                "it no backup can be opened. It also stands in %(file)s."
            )
            % {"file": key_file()}
        )
        self.stdout.write(f"\n    {key}\n\n")
        return key
