"""Loads the people who sign in and those who apply, with certificates and calibrations."""

import secrets
from typing import Any

from clients.access import Role
from services.demonstration.reading import Days, plain, read
from services.demonstration.yard import MEASURED, kept
from services.models import Crew
from services.people import add_person, first_owner
from treatments.models import Applicator, Calibration, Certificate, Sprayer

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # without those that are taken for one another
CALIBRATED = -185
HOLDS = 365


def load_people(days: Days) -> dict[str, str]:
    """Load everybody and return the new passwords by name; only their hashes are kept."""
    passwords: dict[str, str] = {}
    applicators: dict[str, Applicator] = {}
    for row in read("people")["people"]:
        password = new_password() if row.get("signs_in") else None
        user = _sign_up(row, password)
        if password:
            passwords[row["username"]] = password
        if "crew" in row:
            applicators[row["username"]] = _applicator(row, user, applicators, days)
    _calibrate(days)
    return passwords


def new_password() -> str:
    """Return a password by chance, in groups that can be read aloud."""
    groups = ("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(5))
    return "-".join(groups)


def _sign_up(row: dict[str, Any], password: str | None) -> Any:
    named: dict[str, Any] = {name: row[name] for name in ("username", "first_name", "last_name")}
    named["email"] = f"{row['username']}@towpath.example.com"
    if row["role"] == Role.OWNER and password:
        return first_owner(**named, password=password)
    return add_person(
        **named,
        role=Role(row["role"]),
        by=None,
        password=password,
        crew=Crew.objects.get(name=row["crew"]) if "crew" in row else None,
        language=row.get("language", "en"),
    )


def _applicator(
    row: dict[str, Any], user: Any, others: dict[str, Applicator], days: Days
) -> Applicator:
    supervisor = others.get(row.get("supervisor", ""))
    holder = kept(
        Applicator(
            user=user,
            name=user.get_full_name(),
            supervisor=supervisor,
            trained_on=days.from_today(row["trained"]) if "trained" in row else None,
            training="Applying under supervision (invented course)" if supervisor else "",
            trainer=supervisor.name if supervisor else "",
        )
    )
    for each in row.get("certificates", []):
        _certify(holder, each, days)
    return holder


def _certify(holder: Applicator, row: dict[str, Any], days: Days) -> None:
    kept(
        Certificate(
            applicator=holder,
            number=row["number"],
            jurisdiction=row["jurisdiction"],
            categories=["ornamental and turf"],
            issued_on=days.from_today(row["issued"]),
            expires_on=days.from_today(row["expires"]),
        )
    )


def _calibrate(days: Days) -> None:
    """Load what each sprayer put out when it was measured in spring, in anybody's hands."""
    for row in read("business")["sprayers"]:
        kept(
            Calibration(
                sprayer=Sprayer.objects.get(name=row["name"]),
                calibrated_on=days.from_today(CALIBRATED),
                expires_on=days.from_today(CALIBRATED + HOLDS),
                **{name: value for name, value in plain(row).items() if name in MEASURED},
            )
        )
