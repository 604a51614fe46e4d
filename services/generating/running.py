"""Makes up a business batch by batch, and goes on where an earlier run was stopped."""

from collections.abc import Callable

from django.utils import timezone

from services.generating.ground import lay_ground
from services.generating.places import make_places
from services.generating.terms import Terms
from services.generating.wanted import Wanted, is_begun
from services.generating.work import make_work
from treatments.checkpointing import make_checkpoint

Step = Callable[[], object]
Passwords = Callable[[dict[str, str]], object]


def batches_of(wanted: Wanted) -> int:
    """Return how many batches the book lacks; none where the business is whole.

    Raise NotGenerated where the book holds anything else.
    """
    is_begun(wanted)
    return len(wanted.client_batches()) + len(wanted.record_batches())


def generate(wanted: Wanted, *, tell_passwords: Passwords, step: Step) -> None:
    """Put what the book lacks of a business in it; `step` is told of each batch.

    tell_passwords: is given the new passwords by name, as soon as they are kept

    Raise NotGenerated where the book holds anything else; then nothing is written.
    """
    if not is_begun(wanted):
        tell_passwords(lay_ground(wanted))
    for batch in wanted.client_batches():
        make_places(wanted, batch)
        step()
    terms = Terms(wanted)
    for batch in wanted.record_batches():
        make_work(terms, batch)
        step()
    make_checkpoint(now=timezone.now())
