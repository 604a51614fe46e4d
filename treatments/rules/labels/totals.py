"""How much of a product a label allows: at once, in a year, and how often."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from treatments.rules.facts import (
    Applied,
    PastApplication,
    PlannedApplication,
    ProductFacts,
    in_date_order,
)
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.labels.rates import rate_in

TOO_MUCH = gettext_noop(
    "%(amount)s %(basis)s of %(product)s at once is above the label's %(limit)s."
)
APPLY_LESS = gettext_noop("Apply at most %(limit)s %(basis)s.")
AMOUNT_UNKNOWN = gettext_noop(
    "The label of %(product)s limits the amount to %(limit)s %(basis)s; what this rate comes to "
    "on the ground is not known."
)
GIVE_AMOUNT = gettext_noop("State the amount in %(basis)s before it is applied.")
TOO_OFTEN = gettext_noop(
    "This would be application %(count)s of %(product)s in %(year)s; the label allows %(limit)s."
)
OTHER_PRODUCT = gettext_noop("Use another product that week, or wait until the next year.")
TOO_MUCH_A_YEAR = gettext_noop(
    "With this application %(product)s comes to %(amount)s %(basis)s in %(year)s; the label "
    "allows %(limit)s."
)
PAST_UNKNOWN = gettext_noop(
    "%(product)s was applied on %(day)s in an amount that is not known, so that the label's "
    "limit of %(limit)s %(basis)s a year cannot be proved."
)
FIND_AMOUNT = gettext_noop("Find the amount in the record of that day.")


def amount_applied(application: Applied) -> Decimal | None:
    """Return the amount in the label's `amount_basis`, or None when it is not known."""
    if application.amount_per_1000_sq_ft is not None or isinstance(application, PastApplication):
        return application.amount_per_1000_sq_ft
    return rate_in(application.rate, application.basis, application.product.amount_basis)


def check_amount(application: PlannedApplication) -> list[Finding]:
    """Return a refusal where one application is above the label's most."""
    product = application.product
    limit = product.maximum_amount_per_application
    if limit is None:
        return []
    amount = amount_applied(application)
    facts = _facts(product, amount=amount, limit=limit)
    if amount is None:
        return [Finding("amount-unknown", Severity.WARNING, AMOUNT_UNKNOWN, GIVE_AMOUNT, facts)]
    if amount > limit:
        return [Finding("amount-above-label", Severity.REFUSAL, TOO_MUCH, APPLY_LESS, facts)]
    return []


def check_totals(
    applications: Sequence[PlannedApplication], history: Sequence[PastApplication] = ()
) -> list[Finding]:
    """Return a refusal for each planned application beyond the label's number or total a year.

    The year is the calendar year, which is common practice where the label does not say.
    """
    findings = []
    for applied in _by_label_and_year(in_date_order(applications, history)).values():
        findings += _too_often(applied) + _too_much(applied)
    return findings


def _by_label_and_year(applied: Iterable[Applied]) -> dict[tuple[str, int], list[Applied]]:
    groups: dict[tuple[str, int], list[Applied]] = defaultdict(list)
    for application in applied:
        groups[application.product.label_key(), application.day.year].append(application)
    return groups


def _too_often(applied: Sequence[Applied]) -> list[Finding]:
    product = _latest_label(applied)
    limit = product.maximum_applications_per_year
    if limit is None:
        return []
    return [
        Finding(
            "too-many-applications",
            Severity.REFUSAL,
            TOO_OFTEN,
            OTHER_PRODUCT,
            _facts(product, count=count, limit=limit, year=application.day.year),
            week=application.week,
        )
        for count, application in enumerate(applied, start=1)
        if count > limit and isinstance(application, PlannedApplication)
    ]


def _too_much(applied: Sequence[Applied]) -> list[Finding]:
    product = _latest_label(applied)
    limit = product.maximum_amount_per_year
    if limit is None:
        return []
    findings = [_past_unknown(each, limit) for each in applied if _is_unknown_past(each)]
    total = Decimal(0)
    for application in applied:
        total += amount_applied(application) or 0
        if total > limit and isinstance(application, PlannedApplication):
            facts = _facts(product, amount=total, limit=limit, year=application.day.year)
            findings.append(
                Finding(
                    "total-above-label",
                    Severity.REFUSAL,
                    TOO_MUCH_A_YEAR,
                    OTHER_PRODUCT,
                    facts,
                    week=application.week,
                )
            )
    return findings + _unknown_planned(applied, limit)


def _unknown_planned(applied: Sequence[Applied], limit: Decimal) -> list[Finding]:
    return [
        Finding(
            "amount-unknown",
            Severity.WARNING,
            AMOUNT_UNKNOWN,
            GIVE_AMOUNT,
            _facts(each.product, limit=limit),
            week=each.week,
        )
        for each in applied
        if isinstance(each, PlannedApplication) and amount_applied(each) is None
        if each.product.maximum_amount_per_application is None
    ]


def _is_unknown_past(application: Applied) -> bool:
    return isinstance(application, PastApplication) and amount_applied(application) is None


def _past_unknown(application: Applied, limit: Decimal) -> Finding:
    facts = _facts(application.product, day=application.day, limit=limit)
    return Finding("past-amount-unknown", Severity.WARNING, PAST_UNKNOWN, FIND_AMOUNT, facts)


def _latest_label(applied: Sequence[Applied]) -> ProductFacts:
    # A record keeps the label of its day; what is planned is judged by the label of now.
    planned = [each.product for each in applied if isinstance(each, PlannedApplication)]
    return planned[-1] if planned else applied[-1].product


def _facts(product: ProductFacts, **others: object) -> dict[str, object]:
    return {"product": product.name, "basis": product.amount_basis, **others}
