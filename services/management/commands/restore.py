"""`manage.py restore FILE`: the book of a backup in the place of this one, or a trial of it."""

import getpass
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from services.management.files import plainly
from services.safekeeping import CannotKeep, NoBackup, drill, restore
from services.safekeeping.keys import kept_key

GOOD, WRONG, NOT_RUN = 0, 1, 2
SHORTEST_REASON = 10


class Command(BaseCommand):
    """Ends with 0 when all came back as it was kept, 1 when it did not, 2 when it was not tried."""

    help = "Bring the book back from a backup; ends with 0 good, 1 not as it was kept, 2 not tried."
    requires_system_checks = []  # the book that is there may be the reason to restore

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="the backup")
        parser.add_argument(
            "--drill", action="store_true", help="only try it; the book stays as it is"
        )
        parser.add_argument(
            "--key-file", type=Path, metavar="FILE", help="a file that holds the key of the backup"
        )
        parser.add_argument("--reason", default="", help="why, for the journal: ten signs or more")
        parser.add_argument("--by", default="", help="who restores, for the journal")

    def handle(self, *, file, key_file, reason, by, **options):
        try:
            key = key_file.read_text(encoding="utf-8") if key_file else kept_key()
            if not key:
                raise CannotKeep(_("Give the key of the backup: --key-file FILE."))
            if options["drill"]:
                self.tell(*self.drilled(file, key))
            else:
                self.restored(file, key, reason, by)
        except NoBackup as error:
            raise CommandError(str(error), returncode=WRONG) from error
        except OSError as error:
            raise not_tried(plainly(error)) from error
        except (CannotKeep, UnicodeDecodeError) as error:
            raise not_tried(error) from error

    def drilled(self, file, key):
        """Try a backup; return what came of it and what is wrong with it."""
        found = drill(file, key=key)
        return found, found.wrong

    def restored(self, file, key, reason, by):
        """Put a backup in place, and say what may be missing."""
        if len(reason.strip()) < SHORTEST_REASON:
            raise CannotKeep(_("Say why, in ten signs or more: --reason TEXT."))
        done = restore(
            file, key=key, reason=reason.strip(), by=by or getpass.getuser(), now=timezone.now()
        )
        self.tell(done.drilled, ())
        self.stdout.write(
            _("The journal is of another epoch now: %(epoch)s.") % {"epoch": done.epoch}
        )
        for told in done.lost:
            self.stdout.write(
                _("Known lost unless offered again: entries up to %(size)s, root %(root)s") % told
            )

    def tell(self, found, wrong):
        """Say what came out of a backup; end with 1 where something is wrong."""
        for month, count in found.records.items():
            self.stdout.write(f"{month}: {count}")
        age = found.age(timezone.now())
        self.stdout.write(
            _(
                "%(entries)s entries, %(files)s files, read in %(minutes)s minutes; "
                "hours since the newest record: %(age)s"
            )
            % {
                "entries": found.entries,
                "files": found.files,
                "minutes": f"{found.seconds / 60:.2f}",
                "age": "-" if age is None else str(age).split(".")[0],
            }
        )
        if wrong:
            raise CommandError("\n".join(wrong), returncode=WRONG)
        self.stdout.write(_("All is as it was kept."))


def not_tried(why) -> CommandError:
    """Return that the backup was not tried, and why."""
    return CommandError(_("Not tried: %(why)s") % {"why": why}, returncode=NOT_RUN)
