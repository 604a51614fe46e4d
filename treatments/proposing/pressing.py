"""How heavy a pest is where it was counted last, against the threshold there."""

from datetime import timedelta

from treatments.forecasting import OLDEST_COUNT_DAYS
from treatments.models import ScoutingCount
from treatments.proposing.asking import Asked
from treatments.sampling_plans import threshold_for


def times_threshold(asked: Asked) -> float | None:
    """Return the heaviest last count of the plantings over its threshold, in one query.

    None where nothing was counted in the last weeks, or no threshold is known.
    """
    since = asked.today - timedelta(days=OLDEST_COUNT_DAYS)
    found = ScoutingCount.objects.filter(
        planting__in=asked.plantings, pest=asked.pest, scouted_at__date__gte=since
    )
    last = {count.planting_id: count for count in found.order_by("scouted_at")}
    times = [
        last[planting.pk].motiles_per_leaf() / level
        for planting in asked.plantings
        if planting.pk in last and (level := threshold_for(asked.pest, planting)[0])
    ]
    return max(times, default=None)
