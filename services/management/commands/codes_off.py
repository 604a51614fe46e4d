"""`manage.py codes_off`: for an owner who has neither the phone nor a recovery code any more."""

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from services.second_factor import turn_off


class Command(BaseCommand):
    """Needs the machine that the book lies on, like `changepassword`."""

    help = "Turn off the one-time codes of a person, whom the password alone signs in then."

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name that the person signs in with")

    def handle(self, *, name, **options):
        person = get_user_model().objects.filter(username=name).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {name}.")
        if not turn_off(person, by=None):
            raise CommandError(f"The codes of {name} are off already.")
        self.stdout.write(f"The codes of {name} are off, and every sign-in of {name} has ended.")
