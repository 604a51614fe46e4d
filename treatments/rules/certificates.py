"""Whether somebody may apply a product at a place on a day, by the certificates held.

Categories are those of 40 CFR 171.101, which the states may divide [40CFR171-101].  Products for
restricted use are applied by a certified applicator or under one's supervision [40CFR171-303].
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from treatments.rules.facts import CertificateFacts, LearnerFacts, ProductFacts, Standing
from treatments.rules.findings import Counted, Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

NO_CERTIFICATE = gettext_noop("Nobody here holds a certificate of %(jurisdiction)s.")
SEND_HOLDER = gettext_noop("Send somebody whose certificate covers %(jurisdiction)s.")
WRONG_CATEGORY = gettext_noop(
    "%(product)s needs the category %(category)s, which no certificate of %(jurisdiction)s held "
    "here has."
)
SEND_CATEGORY = gettext_noop("Send somebody certified in %(category)s.")
EXPIRED = gettext_noop(
    "The certificate of %(holder)s for %(jurisdiction)s expires on %(expires)s, before %(day)s."
)
NOT_ISSUED = gettext_noop(
    "The certificate of %(holder)s for %(jurisdiction)s is issued on %(issued)s, after %(day)s."
)
RENEW = gettext_noop("Renew it before that day, or send somebody else.")
LAPSING = Counted(
    gettext_noop(
        "The certificate of %(holder)s for %(jurisdiction)s lapses in %(days)s days, on "
        "%(expires)s."
    ),
    gettext_noop(
        "The certificate of %(holder)s for %(jurisdiction)s lapses in %(days)s day, on %(expires)s."
    ),
    "days",
)
RENEW_NOW = gettext_noop("Renew it now.")
SUPERVISED = gettext_noop(
    "%(holder)s applies under supervision: the certified supervisor is reachable at once and named "
    "in the record."
)
TRAINED = gettext_noop("Have the training of the last twelve months and the label at hand.")
LIMITED_WORD = gettext_noop(
    "The limited certificate of %(holder)s allows only products that say CAUTION; %(product)s "
    "says %(word)s."
)
LIMITED_SITE = gettext_noop(
    "The limited certificate of %(holder)s is for ornamentals only, not for: %(site)s."
)
LIMITED_SPRAYER = gettext_noop(
    "The limited certificate of %(holder)s allows a hand sprayer to %(hand)s gallons or a backpack "
    "to %(backpack)s, without power."
)
SEND_CERTIFIED = gettext_noop("Send somebody with a full certificate.")
SUSPENDED = gettext_noop(
    "The certificate of %(holder)s for %(jurisdiction)s is suspended from %(suspended)s on; the "
    "day is %(day)s."
)
NO_RESTRICTED = gettext_noop(
    "The certificate of %(holder)s does not cover products of restricted use; %(product)s is one."
)
OWN_PROPERTY = gettext_noop(
    "The certificate of %(holder)s holds only on property that its holder owns or rents."
)
NO_SUPERVISOR = gettext_noop(
    "%(name)s holds no certificate of %(jurisdiction)s, and nobody certified there is named who "
    "answers for it."
)
NAME_SUPERVISOR = gettext_noop("Name the certified applicator under whom it was applied.")
NO_TRAINING = gettext_noop(
    "There is no proof that %(name)s was trained before applying under supervision."
)
TRAINING_LAPSED = gettext_noop(
    "The training of %(name)s held from %(trained)s until %(until)s; the day is %(day)s."
)
TRAIN = gettext_noop("Enter the training with its day, its title and the trainer, or give it anew.")


@dataclass(frozen=True, slots=True)
class Sprayer:
    """What is sprayed with, as far as a limited certificate asks."""

    kind: str  # "hand", "backpack" or anything else
    gallons: Decimal
    powered: bool = False


def check_certificates(
    certificates: Sequence[CertificateFacts],
    product: ProductFacts,
    *,
    jurisdiction: str,
    day: date,
    plant_group: str = "",
    sprayer: Sprayer | None = None,
) -> list[Finding]:
    """Return why nobody of these may apply the product there that day, or what to mind.

    certificates: of all who come along; one that holds is enough
    jurisdiction: of the place, "US-PA" (ISO 3166-2)
    day: of the application; a certificate holds through its last day
    sprayer: what is sprayed with, or None where that is not known

    The refusals of the certificate that comes nearest are returned.
    """
    facts = {"product": product.name, "jurisdiction": jurisdiction, "day": day}
    there = [each for each in certificates if _same_place(each.jurisdiction, jurisdiction)]
    if not there:
        return [_refusal("no-certificate", NO_CERTIFICATE, SEND_HOLDER, facts)]
    facts["category"] = product.certificate_category
    fitting = [each for each in there if _covers(each, product)]
    if not fitting:
        return [_refusal("category-not-held", WRONG_CATEGORY, SEND_CATEGORY, facts)]
    judged = [_judge(each, product, day, plant_group, sprayer) for each in fitting]
    return min(judged, key=lambda found: sum(_weight(finding) for finding in found))


def _weight(finding: Finding) -> int:
    return {Severity.NOTE: 1, Severity.WARNING: 10, Severity.REFUSAL: 100}[finding.severity]


def _same_place(held: str, asked: str) -> bool:
    return held.upper().removeprefix("US-") == asked.upper().removeprefix("US-")


def _covers(certificate: CertificateFacts, product: ProductFacts) -> bool:
    category = product.certificate_category.casefold()
    return not category or category in {name.casefold() for name in certificate.categories}


def _judge(
    certificate: CertificateFacts,
    product: ProductFacts,
    day: date,
    plant_group: str,
    sprayer: Sprayer | None,
) -> list[Finding]:
    facts = _facts(certificate) | {"day": day}
    if certificate.expires_on < day:
        return [_refusal("certificate-expired", EXPIRED, RENEW, facts)]
    if certificate.issued_on is not None and certificate.issued_on > day:
        return [_refusal("certificate-not-issued", NOT_ISSUED, RENEW, facts)]
    facts |= {"product": product.name}
    if _is_suspended(certificate, day):
        return [_refusal("certificate-suspended", SUSPENDED, SEND_HOLDER, facts)]
    if certificate.own_property_only:
        return [_refusal("certificate-own-property", OWN_PROPERTY, SEND_CERTIFIED, facts)]
    if certificate.bars_restricted_use and product.restricted_use:
        return [_refusal("certificate-restricted-use", NO_RESTRICTED, SEND_CERTIFIED, facts)]
    if certificate.standing is Standing.LIMITED:
        return check_limited(certificate, product, plant_group=plant_group, sprayer=sprayer)
    if certificate.standing is Standing.SUPERVISED:
        return [Finding("supervised", Severity.NOTE, SUPERVISED, TRAINED, facts, "40CFR171-201")]
    return []


def _is_suspended(certificate: CertificateFacts, day: date) -> bool:
    begins, ends = certificate.suspended_from, certificate.reinstated_on
    return begins is not None and begins <= day and (ends is None or ends > day)


def check_supervision(
    learner: LearnerFacts, *, jurisdiction: str, day: date, restricted_use: bool
) -> list[Finding]:
    """Return what is wrong where somebody without a certificate applies.

    Who applies products for restricted use under supervision was trained within the last twelve
    months, and the proof is kept [40CFR171-201]; of other products that is warned of.
    """
    facts: dict[str, object] = {
        "name": learner.name,
        "jurisdiction": jurisdiction,
        "trained": learner.trained_on,
        "until": learner.trained_until,
        "day": day,
    }
    findings = []
    if not (learner.supervisor and learner.supervisor_is_certified):
        findings.append(_refusal("no-supervisor", NO_SUPERVISOR, NAME_SUPERVISOR, facts))
    severity = Severity.REFUSAL if restricted_use else Severity.WARNING
    if learner.trained_on is None or learner.trained_until is None:
        findings.append(
            Finding("training-missing", severity, NO_TRAINING, TRAIN, facts, "40CFR171-201")
        )
    elif not learner.trained_on <= day <= learner.trained_until:
        findings.append(
            Finding("training-lapsed", severity, TRAINING_LAPSED, TRAIN, facts, "40CFR171-201")
        )
    return findings


def limited_allows(jurisdiction: str, signal_word: str, plant_groups: Collection[str]) -> bool:
    """Say whether a limited certificate of a place covers a product there; unknown limits do.

    >>> limited_allows("US-FL", "CAUTION", ["rose"]), limited_allows("US-FL", "WARNING", ["rose"])
    (True, False)
    """
    limits = _limits(jurisdiction)
    if limits is None:
        return True
    is_word = signal_word in limits["signal_words"]
    return is_word and set(limits["site_groups_excluded"]).isdisjoint(plant_groups)


def has_limits(jurisdiction: str) -> bool:
    """Say whether it is known what the limited certificates of a place allow.

    >>> has_limits("US-FL"), has_limits("US-PA")
    (True, False)
    """
    return _limits(jurisdiction) is not None


def limited_sprays_with(jurisdiction: str, sprayer: Sprayer) -> bool:
    """Say whether a limited certificate of a place covers a sprayer; unknown limits do.

    >>> limited_sprays_with("US-FL", Sprayer("backpack", Decimal(4)))
    True
    """
    limits = _limits(jurisdiction)
    return limits is None or _within(sprayer, limits)


def check_limited(
    certificate: CertificateFacts,
    product: ProductFacts,
    *,
    plant_group: str = "",
    sprayer: Sprayer | None = None,
) -> list[Finding]:
    """Return what a limited certificate does not allow: signal word, site, equipment [FL-482].

    A limited certificate of another state is refused nothing here: its limits are not known.
    """
    limits = _limits(certificate.jurisdiction)
    if limits is None:
        return []
    facts = _facts(certificate) | {
        "product": product.name,
        "word": product.signal_word.value or "-",
        "site": Marked(plant_group),
        "hand": limits["hand_sprayer_gallons"],
        "backpack": limits["backpack_gallons"],
    }
    broken = [
        (product.signal_word.value not in limits["signal_words"], "limited-word", LIMITED_WORD),
        (plant_group in limits["site_groups_excluded"], "limited-site", LIMITED_SITE),
        (not _within(sprayer, limits), "limited-sprayer", LIMITED_SPRAYER),
    ]
    return [
        _refusal(code, sentence, SEND_CERTIFIED, facts, limits["source"])
        for is_broken, code, sentence in broken
        if is_broken
    ]


def _limits(jurisdiction: str) -> dict[str, Any] | None:
    limited: dict[str, Any] = read_toml("certificates")["limited"]
    return limited.get(jurisdiction.upper().removeprefix("US-"))


def _within(sprayer: Sprayer | None, limits: dict[str, int]) -> bool:
    if sprayer is None:
        return True
    gallons = {"hand": limits["hand_sprayer_gallons"], "backpack": limits["backpack_gallons"]}
    return not sprayer.powered and sprayer.gallons <= gallons.get(sprayer.kind, 0)


def check_lapsing(certificate: CertificateFacts, today: date) -> list[Finding]:
    """Return a note when a certificate lapses within 60, 30 or 7 days (common practice)."""
    days = (certificate.expires_on - today).days
    steps = [step for step in read_toml("certificates")["lapse_days"] if 0 <= days <= step]
    if not steps:
        return []
    facts = _facts(certificate) | {"days": days, "step": min(steps)}
    return [
        Finding("certificate-lapsing", Severity.NOTE, LAPSING, RENEW_NOW, facts, "common practice")
    ]


def _facts(certificate: CertificateFacts) -> dict[str, object]:
    return {
        "holder": certificate.holder,
        "jurisdiction": certificate.jurisdiction,
        "expires": certificate.expires_on,
        "issued": certificate.issued_on,
        "suspended": certificate.suspended_from,
    }


def _refusal(
    code: str,
    sentence: str,
    remedy: str,
    facts: dict[str, object],
    source: str = "40CFR171-101",
) -> Finding:
    return Finding(code, Severity.REFUSAL, sentence, remedy, facts, source)
