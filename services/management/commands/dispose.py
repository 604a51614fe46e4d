"""`manage.py dispose`: what is past its time, and its disposal when asked for."""

from django.core.management.base import BaseCommand
from django.utils import timezone
from django.utils.translation import gettext as _

from services import disposing
from services.searching import tidy
from treatments.disposing import dispose_of, past_their_time


class Command(BaseCommand):
    """Changes nothing unless told to; what must still be kept is never touched."""

    help = "List what need not be kept any longer; with --confirm dispose of it."

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
        others = list(disposing.past_their_time(now.date()))
        for other in others:
            self.stdout.write(
                _("%(what)s %(number)s, kept until %(day)s")
                % {"what": other.nouns[0], "number": other.row.pk, "day": other.keep_until}
            )
        if not confirm:
            self.stdout.write(
                _(
                    "%(count)s records, %(others)s holds and notices are past their time. Dispose "
                    "of them with --confirm."
                )
                % {"count": len(found), "others": len(others)}
            )
            return
        count = dispose_of([each.record for each in found], by=None, at=now)
        told = {"count": count, "others": disposing.dispose_of_past(None, now)}
        tidy()
        self.stdout.write(_("Disposed of: %(count)s records, %(others)s holds and notices.") % told)
