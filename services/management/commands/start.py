"""`manage.py start`: run the business on this machine."""

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from services.project import serving


class Command(BaseCommand):
    """Prepares the database, then serves the pages and does the work behind them."""

    help = "Prepare the database and serve Duskbook until Ctrl-C."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="the address to listen on")
        parser.add_argument("--port", default=8000, type=int, help="the port to listen on")

    def handle(self, *, host, port, **options):
        serving.prepare()
        if not get_user_model().objects.exists():
            self.stdout.write(f"Nobody can sign in yet: begin at http://{host}:{port}/begin/")
        try:
            serving.serve(host, port, say=self.say)
        except serving.AddressTaken as error:
            raise CommandError(f"{error} Another port: --port 8001.") from error

    def say(self, sentence):
        """Tell the person at the terminal at once, also through a pipe."""
        self.stdout.write(sentence)
        self.stdout.flush()
