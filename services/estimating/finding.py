"""What was found on plantings, in sentences for the client."""

from collections.abc import Iterable, Sequence

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.models import Planting
from services.sheets.dates import long_day, number
from treatments.models import Pest, ScoutingCount


def found_on(plantings: Sequence[Planting], pest: Pest) -> list[str]:
    """Return a sentence on the last count of a pest on each planting, in the language spoken."""
    return [_sentence(planting, pest) for planting in plantings]


def _sentence(planting: Planting, pest: Pest) -> str:
    counts = ScoutingCount.objects.filter(planting=planting, pest=pest)
    count = counts.order_by("-scouted_at").first()
    language = get_language() or "en"
    facts = {"planting": planting.name, "pest": pest.name_in(language)}
    if count is None:
        return _("%(planting)s: no %(pest)s was counted yet.") % facts
    day = count.scouted_at.astimezone(planting.property.zone()).date()
    facts |= {
        "day": long_day(day, language),
        "infested": str(count.leaves_infested),
        "looked": str(count.leaves_looked_at),
        "per_leaf": f"{count.motiles_per_leaf():.1f}",
    }
    told = _(
        "%(planting)s, %(day)s: %(pest)s on %(infested)s of %(looked)s leaves, %(per_leaf)s living "
        "ones a leaf."
    )
    return " ".join([told % facts, *_threshold(pest)])


def _threshold(pest: Pest) -> Iterable[str]:
    if pest.threshold is not None:
        source = pest.threshold_source
        yield _("Something is done from %(threshold)s a leaf on (%(source)s).") % {
            "threshold": number(pest.threshold),
            "source": _(source) if source else _("common practice"),
        }
