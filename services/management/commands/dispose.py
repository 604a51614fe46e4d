"""`manage.py dispose`: which records are past their time, and their disposal when asked for."""

from django.core.management.base import BaseCommand
from django.utils import timezone
from django.utils.translation import gettext as _

from treatments.disposing import dispose_of, past_their_time


class Command(BaseCommand):
    """Changes nothing unless told to; what must still be kept is never touched."""

    help = "List the records that need not be kept any longer; with --confirm dispose of them."

    def add_arguments(self, parser):
        parser.add_argument(
            "--confirm", action="store_true", help="dispose of them; it cannot be undone"
        )

    def handle(self, *, confirm, **options):
        now = timezone.now()
        found = list(past_their_time(now.date()))
        for each in found:
            self.stdout.write(
                _("record %(number)s, kept until %(day)s")
                % {"number": each.record.number, "day": each.keep_until}
            )
        if not confirm:
            self.stdout.write(
                _("%(count)s records are past their time. Dispose of them with --confirm.")
                % {"count": len(found)}
            )
            return
        count = dispose_of([each.record for each in found], by=None, at=now)
        self.stdout.write(_("Disposed of: %(count)s records.") % {"count": count})
