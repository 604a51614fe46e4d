"""The sign that stays behind, in words: what the rule of the place asks of it."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _

from services.models import Visit
from services.sheets.dates import number
from treatments.models import ApplicationRecord
from treatments.posting import StandingSign, signs_standing
from treatments.rules.records import Posting, ruleset_of


def posting_in_words(jurisdiction: str, posting: Posting | None) -> str:
    """Return which sign is put up, when and where; where no rule was found, that is said."""
    if posting is None:
        known = ruleset_of(jurisdiction)
        name = _(known.name) if known else jurisdiction
        return _("No rule for a sign was found for %(place)s.") % {"place": name}
    parts = [_("Sign %(sign)s.") % {"sign": sign_name(posting)}]
    if posting.when:
        parts.append(_("Put up: %(when)s.") % {"when": _(posting.when)})
    if posting.placement:
        parts.append(_("Where: %(where)s.") % {"where": _(posting.placement)})
    if posting.keep_up_rule and posting.keep_up_hours is None:
        parts.append(_("Stays: %(rule)s.") % {"rule": _(posting.keep_up_rule)})
    return " ".join(parts)


def sign_says(posting: Posting) -> list[str]:
    """Return what the rule asks to stand on the sign, where it stands, and how it is set up."""
    return [_(words) for words in (*posting.contents, posting.placement, posting.mount) if words]


def sign_name(posting: Posting) -> str:
    """Return how a crew picks the right sign in the yard: place, size and colors."""
    parts = [posting.jurisdiction]
    if posting.width_in and posting.height_in:
        size = {"width": number(posting.width_in), "height": number(posting.height_in)}
        parts.append(_("%(width)s × %(height)s in") % size)
    colors = " / ".join(_(part) for part in (posting.background, posting.lettering) if part)
    return ", ".join([*parts, colors] if colors else parts)


def signs_to_take_down(visits: Sequence[Visit]) -> Iterator[tuple[int, StandingSign]]:
    """Yield the number of a stop and each sign that its crew finds there past its time.

    visits: of a route in their order, with the hours at which the crew arrives
    """
    arrivals = {
        visit.course.property_id: (number, visit.arrives_at)
        for number, visit in enumerate(visits, start=1)
        if visit.arrives_at
    }
    if not arrivals:
        return
    kept = ApplicationRecord.objects.filter(planting__property__in=arrivals)
    for sign in signs_standing(kept, max(at for _number, at in arrivals.values())):
        number, arrives_at = arrivals[sign.place.pk]
        if not sign.is_clients() and sign.may_come_down_at(arrives_at):
            yield number, sign
