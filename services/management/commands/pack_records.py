"""`manage.py pack_records FILE`: a package of records, however many."""

from datetime import date
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from services.management.files import told_plainly
from services.packing import Wanted, package
from treatments.forms.records import SiftForm
from treatments.models import ApplicationRecord


class Command(BaseCommand):
    """Writes the ZIP that the page of records streams."""

    help = "Pack records as PDF, CSV and JSON with what proves them; it names clients and people."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="the ZIP to write; one that exists stays")
        parser.add_argument("--first", type=date.fromisoformat, help="day, such as 2026-01-01")
        parser.add_argument("--last", type=date.fromisoformat, help="day, such as 2026-12-31")
        parser.add_argument("--jurisdiction", default="", help="such as US-PA")
        parser.add_argument("--words", default="", help="client, place or planting")
        parser.add_argument("--language", default="en", choices=["en", "es"])

    def handle(self, *, file, language, first, last, jurisdiction, words, **options):
        asked = {"first": first, "last": last, "jurisdiction": jurisdiction, "words": words}
        form = SiftForm(asked, records=ApplicationRecord.objects.all())
        if not form.is_valid():
            raise CommandError(form.errors.as_text())
        numbers = list(form.found().order_by("number").values_list("number", flat=True))
        if not numbers:
            raise CommandError("No record fits all of that.")
        wanted = Wanted(numbers, language, timezone.now(), with_notes=True)
        with told_plainly("Not written"), file.open("xb") as written:
            written.writelines(package(wanted))
        self.stdout.write(f"Written: {file}, {len(numbers)} records.")
