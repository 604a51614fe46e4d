"""Under which rules a business works: its own rule sets, its choice, what it compared."""

from datetime import date
from uuid import uuid4

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly, AppendOnlyQuerySet
from treatments.models.fields import CodeListField
from treatments.rules.records.fields import FIELDS

LONGEST_HOURS, LONGEST_DAYS, LONGEST_YEARS = 720, 366, 50  # our own choice
FARTHEST_FEET = 5280  # a mile; our own choice
WORDS = _("In the words of the rule; empty means not known.")


def person(label, name):
    """Return a column for who did it."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name=name, verbose_name=label
    )


def figure(label, most, **options):
    """Return a column for a figure of the rule; empty means not known."""
    return models.PositiveSmallIntegerField(
        label,
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(most)],
        **options,
    )


class OwnRuleSetQuerySet(AppendOnlyQuerySet):
    """Ways to pick rule sets that read as the trade says them."""

    def in_force(self, jurisdiction: str, day: date):
        """Return the version of a jurisdiction that holds on a day, or None."""
        held = self.filter(jurisdiction=jurisdiction, valid_from__lte=day)
        return held.order_by("-valid_from", "-number").first()


class OwnRuleSet(AppendOnly):
    """A rule set that the business entered itself; a change is another version from a day on.

    What it says of sign and notice stands beside the book's table and never takes from it.
    """

    class Told(models.TextChoices):
        """Which neighbours are to be told."""

        ASKED = "asked", _("those who asked to be told")
        REGISTRY = "registry", _("those on a registry")
        ABUTTING = "abutting", _("everybody on the list of the property but those who only asked")

    class Remover(models.TextChoices):
        """Who takes a sign down, in the words of the book's table."""

        CUSTOMER = "customer", _("the client")
        BUSINESS = "business", _("the business")

    key = models.UUIDField(unique=True, default=uuid4, editable=False)
    jurisdiction = models.CharField(_("jurisdiction"), max_length=6, editable=False)
    number = models.PositiveSmallIntegerField(_("version"), editable=False)
    name = models.CharField(_("name"), max_length=200)
    citation = models.CharField(
        _("citation"), max_length=200, help_text=_("Where it stands in the code, with the section.")
    )
    valid_from = models.DateField(
        _("holds from"), help_text=_("Work that was done before goes by the rules of its day.")
    )
    required_fields = CodeListField(
        _("what a record must hold"), codes=list(FIELDS.items()), blank=False
    )
    record_deadline_hours = figure(_("written within"), LONGEST_HOURS)
    record_deadline_days = figure(_("or within, whole days"), LONGEST_DAYS)
    retention_years = figure(_("years it is kept"), LONGEST_YEARS)
    customer_copy_rule = models.CharField(
        _("copy for the client"),
        max_length=300,
        blank=True,
        help_text=WORDS,
    )
    customer_copy_days = figure(_("days in which the copy is given"), LONGEST_DAYS)
    sign_rule = models.CharField(_("sign that stays"), max_length=300, blank=True, help_text=WORDS)
    sign_when = models.CharField(_("the sign goes up"), max_length=100, blank=True)
    sign_hours = figure(_("hours the sign stays"), LONGEST_HOURS)
    sign_remover = models.CharField(
        _("the sign is taken down by"), max_length=10, choices=Remover.choices, blank=True
    )
    notice_who = models.CharField(
        _("who is told before"), max_length=200, blank=True, help_text=WORDS
    )
    notice_ground = models.CharField(
        _("which neighbors those are"), max_length=10, choices=Told.choices, blank=True
    )
    notice_asked_days = figure(_("days before by which they must have asked"), LONGEST_DAYS)
    notice_within_ft = figure(_("within so many feet"), FARTHEST_FEET)
    notice_hours = figure(_("hours before, at least"), LONGEST_HOURS)
    notice_hours_most = figure(_("hours before, at most"), LONGEST_HOURS)
    notice_days = figure(_("days before, at least"), LONGEST_DAYS)
    notice_days_most = figure(_("days before, at most"), LONGEST_DAYS)
    notice_business_days = figure(_("business days before, at least"), LONGEST_DAYS)
    notice_how = models.CharField(_("how they are told"), max_length=200, blank=True)
    entered_by = person(_("entered by"), "rulesets_entered")
    entered_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)

    objects = OwnRuleSetQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        ordering = ["jurisdiction", "number"]
        verbose_name = _("own rule set")
        verbose_name_plural = _("own rule sets")
        constraints = [
            models.UniqueConstraint("jurisdiction", "number", name="own_ruleset_version_once"),
            models.CheckConstraint(
                name="own_ruleset_has_one_deadline",
                condition=Q(record_deadline_hours__isnull=True)
                | Q(record_deadline_days__isnull=True),
                violation_error_message=_("Give the deadline in hours or in days, not in both."),
            ),
            models.CheckConstraint(
                name="own_ruleset_notice_leaves_time",
                condition=(
                    Q(notice_hours__isnull=True) | ~Q(notice_hours__gt=F("notice_hours_most"))
                )
                & (Q(notice_days__isnull=True) | ~Q(notice_days__gt=F("notice_days_most"))),
                violation_error_message=_("The least time before is not longer than the most."),
            ),
            models.CheckConstraint(
                name="own_ruleset_notice_is_to_somebody",
                condition=Q(notice_who="", notice_ground="")
                | ~Q(notice_who="") & ~Q(notice_ground=""),
                violation_error_message=_("Say who is told before, and which neighbors those are."),
            ),
        ]

    def __str__(self):
        return f"{self.jurisdiction}, {self.number}"


class RuleChoice(AppendOnly):
    """Which rule set a business works under at the places of a jurisdiction, from a day on."""

    class Uses(models.TextChoices):
        """Whose rule set it is."""

        BOOK = "book", _("the one that comes with the book")
        OWN = "own", _("the business's own")

    jurisdiction = models.CharField(_("jurisdiction"), max_length=6, editable=False)
    uses = models.CharField(_("works under"), max_length=4, choices=Uses.choices)
    holds_from = models.DateField(_("from"))
    chosen_by = person(_("chosen by"), "rulesets_chosen")
    chosen_at = models.DateTimeField(_("chosen"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["jurisdiction", "holds_from", "pk"]
        verbose_name = _("choice of a rule set")
        verbose_name_plural = _("choices of rule sets")

    def __str__(self):
        return f"{self.jurisdiction}: {self.uses}"


class FactConfirmed(AppendOnly):
    """That somebody compared a fact of a rule set with the code; it counts for that fact alone."""

    ruleset = models.CharField(_("rule set"), max_length=60)
    fact = models.CharField(_("fact"), max_length=40)
    fingerprint = models.CharField(_("fingerprint"), max_length=64)
    compared_on = models.DateField(_("compared with the code on"))
    compared_with = models.CharField(
        _("compared with"),
        max_length=300,
        help_text=_("Where the code was read: the official text, its section, its address."),
    )
    confirmed_by = person(_("confirmed by"), "facts_confirmed")
    confirmed_at = models.DateTimeField(_("confirmed"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["ruleset", "fact", "pk"]
        verbose_name = _("confirmed fact")
        verbose_name_plural = _("confirmed facts")
        constraints = [
            models.UniqueConstraint(
                "ruleset", "fact", "fingerprint", name="fact_confirmed_once_a_ruleset"
            ),
        ]

    def __str__(self):
        return f"{self.ruleset}: {self.fact}"
