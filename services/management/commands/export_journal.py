"""`manage.py export_journal FILE`: the journal as a file that anybody can check."""

from pathlib import Path

from django.core.management.base import BaseCommand
from django.utils import timezone

from services.management.files import told_plainly
from treatments.checkpointing import make_checkpoint
from treatments.exporting import export_lines


class Command(BaseCommand):
    """Writes entries and checkpoints, a line each; treatments/exporting.py tells the format."""

    help = "Write the journal to a file; it names clients and people, so keep it as the book."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="the file to write; one that exists stays")

    def handle(self, *, file, **options):
        make_checkpoint(now=timezone.now())
        with (
            told_plainly("Not written"),
            file.open("x", encoding="utf-8", newline="\n") as lines,
        ):
            lines.writelines(export_lines())
        self.stdout.write(f"Written: {file}. Check it with: manage.py verify --export {file}")
