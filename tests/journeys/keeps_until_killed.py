"""Keeps one record after the other until it is killed; says the number of each once it is kept.

Run by itself over a book that holds a record already, whose planting, product and people it takes.
"""

import sys
from datetime import timedelta
from uuid import uuid4

import django

django.setup()

from django.utils import timezone  # noqa: E402

from treatments.models import ApplicationRecord  # noqa: E402
from treatments.recording import record_application  # noqa: E402

AS_IN_THE_FIRST = [
    "planting",
    "product",
    "pest",
    "lot",
    "applicator",
    "rate",
    "rate_basis",
    "product_amount",
    "mix_gallons",
    "recorded_by",
]


def keep_for_ever():
    """Keep records without an end."""
    first = ApplicationRecord.objects.earliest("number")
    told = {name: getattr(first, name) for name in AS_IN_THE_FIRST}
    while True:
        done = timezone.now() - timedelta(minutes=5)
        record = record_application(
            **told, event_id=uuid4(), started_at=done - timedelta(minutes=20), done_at=done
        )
        sys.stdout.write(f"{record.number}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    keep_for_ever()
