"""Crews with their people and trucks, and the certificates with what is left of them."""

from dataclasses import dataclass
from datetime import date

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db.models import Prefetch
from django.utils.translation import gettext as _

from clients.access import Role
from clients.models import AccessWindow
from services.models import Crew, Technician, Truck, Yard
from treatments.lapsing import expiry_in_words
from treatments.models import Applicator, Certificate


@dataclass(frozen=True, slots=True)
class CertificateShown:
    """A certificate, in words how long it holds, and whether that asks for a step."""

    certificate: Certificate
    words: str
    is_urgent: bool


@dataclass(frozen=True, slots=True)
class ApplicatorShown:
    """Who applies, with the certificates."""

    applicator: Applicator
    certificates: list[CertificateShown]


@dataclass(frozen=True, slots=True)
class HeldShown:
    """A line of the list of certificates; of who holds none as well."""

    applicator: Applicator
    held: CertificateShown | None

    @property
    def name(self) -> str:
        """Return who holds it."""
        return str(self.applicator)

    @property
    def number(self) -> str:
        """Return its number."""
        return self.held.certificate.number if self.held else ""

    @property
    def where(self) -> str:
        """Return where it holds."""
        return self.held.certificate.jurisdiction if self.held else ""

    @property
    def expires(self) -> date | None:
        """Return its last day."""
        return self.held.certificate.expires_on if self.held else None


@dataclass(frozen=True, slots=True)
class PersonShown:
    """Somebody with a sign-in."""

    user: User
    name: str
    role: str
    technician: Technician | None
    has_codes: bool

    @property
    def crew(self) -> str:
        """Return the name of the crew."""
        crew = self.technician.crew if self.technician else None
        return crew.name if crew else ""

    @property
    def language(self) -> str:
        """Return the language by its name."""
        return str(self.technician.get_language_display()) if self.technician else ""


@dataclass(frozen=True, slots=True)
class CrewShown:
    """A crew with the names of its weekdays and people."""

    crew: Crew
    truck: Truck | None
    weekdays: str
    people: list[PersonShown]


@dataclass(frozen=True, slots=True)
class PeopleShown:
    """All that the page of the people shows."""

    yards: list[Yard]
    crews: list[CrewShown]
    without_crew: list[PersonShown]
    gone: list[PersonShown]
    spare_trucks: list[Truck]
    applicators: list[ApplicatorShown]

    def held(self) -> list[HeldShown]:
        """Return the certificates one by one, and who holds none."""
        return [
            HeldShown(each.applicator, held)
            for each in self.applicators
            for held in each.certificates or (None,)
        ]

    def people(self) -> list[PersonShown]:
        """Return everybody who has or had a sign-in; who was let go stands last."""
        in_crews = [person for each in self.crews for person in each.people]
        return [*in_crews, *self.without_crew, *self.gone]


def people_shown(today: date) -> PeopleShown:
    """Return what the page of the people shows, in a fixed number of queries."""
    people = _people()
    crews = Crew.objects.select_related("yard", "truck").prefetch_related("truck__sprayers")
    trucks = Truck.objects.filter(crew__isnull=True).prefetch_related("sprayers")
    here = [person for person in people if person.user.is_active]
    return PeopleShown(
        yards=list(Yard.objects.all()),
        crews=[_crew(crew, here) for crew in crews.order_by("retired", "name")],
        without_crew=[person for person in here if _crew_of(person) is None],
        gone=[person for person in people if not person.user.is_active],
        spare_trucks=list(trucks),
        applicators=_applicators(today),
    )


def standing_in_words(held: Certificate, today: date) -> tuple[str, bool]:
    """Return how a certificate stands, in words, and whether that asks for a step."""
    if held.is_suspended_on(today):
        return _("suspended"), True
    return expiry_in_words(held.expires_on, today)


def _people() -> list[PersonShown]:
    users = (
        get_user_model()
        .objects.select_related("authenticator")
        .prefetch_related(
            "groups", Prefetch("technician", Technician.objects.select_related("crew"))
        )
    )
    return [_person(user) for user in users.order_by("last_name", "first_name", "username")]


def _person(user: User) -> PersonShown:
    roles = [group.name for group in user.groups.all() if group.name in Role.values]
    return PersonShown(
        user=user,
        name=user.get_full_name() or user.get_username(),
        role=str(Role(roles[0]).label) if roles else _("no role"),
        technician=getattr(user, "technician", None),
        has_codes=hasattr(user, "authenticator"),
    )


def _crew_of(person: PersonShown) -> Crew | None:
    return person.technician.crew if person.technician else None


def _crew(crew: Crew, people: list[PersonShown]) -> CrewShown:
    names = dict(AccessWindow.Weekday.choices)
    return CrewShown(
        crew=crew,
        truck=getattr(crew, "truck", None),
        weekdays=", ".join(str(names[int(day)]) for day in sorted(crew.weekdays)),
        people=[person for person in people if _crew_of(person) == crew],
    )


def _applicators(today: date) -> list[ApplicatorShown]:
    found = Applicator.objects.select_related("supervisor").prefetch_related("certificates")
    return [
        ApplicatorShown(
            each,
            [
                CertificateShown(held, *standing_in_words(held, today))
                for held in each.certificates.all()
            ],
        )
        for each in found
    ]
