"""`manage.py demo`: an invented business with its season, and the main job done for it."""

import logging
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from services.demonstration import loading, papers
from services.demonstration.main_job import dispatched_monday
from services.demonstration.progress import Progress
from services.demonstration.reading import ZONE, Days, read
from services.management.files import told_plainly
from services.project import serving


@contextmanager
def only_warnings():
    """Keep a season of log lines away from the person at the terminal."""
    logger = logging.getLogger("services")
    level = logger.level
    logger.setLevel(logging.WARNING)
    yield
    logger.setLevel(level)


class Command(BaseCommand):
    """Loads the demonstration once, writes its papers, and serves it."""

    help = "Load an invented business, do the main job for it, write its papers and serve it."

    def add_arguments(self, parser):
        parser.add_argument("--once", action="store_true", help="do all but serve, and end")
        parser.add_argument("--out", type=Path, help="the folder for the papers")
        parser.add_argument(
            "--today", type=date.fromisoformat, help="the day it plays on, such as 2027-05-12"
        )
        parser.add_argument("--host", default="127.0.0.1", help="the address to listen on")
        parser.add_argument("--port", default=8000, type=int, help="the port to listen on")

    def handle(self, *, once, out, today, host, port, **options):
        folder = out or settings.PAPER_ROOT / "demo"
        with told_plainly("The papers cannot be written"):
            folder.mkdir(parents=True, exist_ok=True)
        serving.prepare()
        try:
            is_loaded = loading.is_loaded()
        except loading.BookInUse as in_use:
            raise CommandError(str(in_use)) from in_use
        if is_loaded:
            self.say_again()
        else:
            self.load(today or datetime.now(ZONE).date())
        self.say_week()
        self.write_papers(folder)
        if once:
            self.say(f"`python3 manage.py demo` serves it at http://{host}:{port}/.")
        else:
            self.serve(host, port)

    def load(self, today):
        """Load everything and tell what is told only once."""
        days = Days.of(today)
        self.say(f"An invented business is made up, as it stands on {days.today:%A, %d %B %Y}.")
        progress = Progress(self.stdout, loading.steps_of(today))
        with only_warnings():
            loaded = loading.load(today, progress.step)
        progress.end()
        self.say_refusals(loaded.refusals)
        self.say(f"Recorded last: the applications of {loaded.last_day:%A, %d %B %Y}.")
        self.say_passwords(loaded.passwords)

    def say_refusals(self, findings):
        """Show what the book refuses, with what would make it lawful."""
        self.say(f"Refused and not kept: “{read('rotations')['refused']['name']}”:")
        for finding in findings:
            self.say(f"  week {finding.week}: {finding.say()} {finding.say_remedy()}".rstrip())

    def say_passwords(self, passwords):
        """Show the new passwords, which are nowhere else."""
        roles = {row["username"]: row["role"] for row in read("people")["people"]}
        self.say("Sign in as (these passwords are shown once and kept nowhere):")
        for name, password in passwords.items():
            self.say(f"  {name:<8} {password}  {roles[name]}")

    def say_again(self):
        """Tell what a second run does not tell any more."""
        self.say("The demonstration is loaded already; nothing in it is changed.")
        self.say(
            "Its passwords were shown when it was loaded; a new one is set with "
            "`python3 manage.py changepassword NAME`."
        )

    def say_week(self):
        """Show how the dispatched week came out, and why some visits have no crew."""
        monday = dispatched_monday()
        plans = list(papers.plans_of(monday))
        routes = [dispatch for plan in plans for dispatch in plan.dispatches]
        visits = sum(len(dispatch.visits.all()) for dispatch in routes)
        left_out = [each for plan in plans for each in plan.left_out]
        self.say(
            f"Week three, dispatched for the week of {monday:%d %B %Y}: {visits} visits on "
            f"{len(routes)} routes, {len(left_out)} without a crew."
        )
        for each in left_out:
            self.say(f"  {each.visit.course.property.name}: {each.reason.say()}")

    def write_papers(self, folder):
        """Write the papers and say where they lie."""
        for path in papers.write_papers(folder):
            self.say(f"Written: {path}")

    def serve(self, host, port):
        """Serve the pages until the process is told to stop."""
        try:
            serving.serve(host, port, say=self.say)
        except serving.AddressTaken as error:
            raise CommandError(f"{error} Another port: --port 8001.") from error

    def say(self, sentence):
        """Tell the person at the terminal at once, also through a pipe."""
        self.stdout.write(sentence)
        self.stdout.flush()
