"""What a label allows: site and pest, rate, totals, intervals, re-entry, distances.

A label outranks every plan; silence of a label is None and is said, never taken as consent.
"""

from treatments.rules.labels.actives import check_actives
from treatments.rules.labels.distances import check_distances
from treatments.rules.labels.intervals import check_intervals, check_preharvest
from treatments.rules.labels.rates import check_rate, rates_for
from treatments.rules.labels.reentry import (
    Reentry,
    check_reentry,
    check_reentry_plausible,
    default_reentry_hours,
    reentry_after,
)
from treatments.rules.labels.sites import check_organic, check_site
from treatments.rules.labels.totals import check_amount, check_totals

__all__ = [
    "Reentry",
    "check_actives",
    "check_amount",
    "check_distances",
    "check_intervals",
    "check_organic",
    "check_preharvest",
    "check_rate",
    "check_reentry",
    "check_reentry_plausible",
    "check_site",
    "check_totals",
    "default_reentry_hours",
    "rates_for",
    "reentry_after",
]
