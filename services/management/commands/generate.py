"""`manage.py generate`: an invented business of any size, to see how the book bears it."""

from datetime import date, datetime

from django.core.management.base import BaseCommand, CommandError

from services.demonstration.progress import Progress
from services.demonstration.reading import ZONE
from services.generating import NotGenerated, Wanted, generate
from services.generating.running import batches_of
from services.project import serving
from services.safekeeping.databases import count_rows


class Command(BaseCommand):
    """Ends with 0 where the business is whole, also when it was whole before."""

    help = "Make up a business of any size in an empty book; it goes on where it was stopped."

    def add_arguments(self, parser):
        parser.add_argument("--clients", type=int, default=100, help="how many clients")
        parser.add_argument("--records", type=int, default=1_000, help="how many records")
        parser.add_argument("--seed", type=int, default=1, help="the same one makes the same book")
        parser.add_argument(
            "--today", type=date.fromisoformat, help="the day it plays on, such as 2027-05-12"
        )

    def handle(self, *, clients, records, seed, today, **options):
        if clients < 1 or records < 1:
            raise CommandError("A business has at least one client and one record.")
        wanted = Wanted(clients, records, seed, today or datetime.now(ZONE).date())
        serving.prepare()
        try:
            self.make(wanted)
        except NotGenerated as reason:
            raise CommandError(str(reason)) from reason

    def make(self, wanted):
        """Make up what is lacking, and say so."""
        batches = batches_of(wanted)
        if not batches:
            self.stdout.write("This business is made up already; nothing in it is changed.")
            return
        self.stdout.write(f"{wanted.name()}: {batches} batches to go.")
        progress = Progress(self.stdout, batches)
        generate(wanted, tell_passwords=self.say_passwords, step=lambda: progress.step("batch"))
        progress.end()
        count_rows()
        self.stdout.write("It is whole. `python3 manage.py verify` checks it.")

    def say_passwords(self, passwords):
        """Show the new passwords, which are nowhere else."""
        self.stdout.write("Sign in as (these passwords are shown once and kept nowhere):")
        for name, password in passwords.items():
            self.stdout.write(f"  {name:<8} {password}")
        self.stdout.flush()
