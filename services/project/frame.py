"""What stands around every page: the business and the seven places."""

from dataclasses import dataclass

from django.contrib.auth.models import AnonymousUser
from django.urls import NoReverseMatch, reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext_lazy as _

from clients.access import CREW, EVERYONE, STAFF, has_role
from treatments.models import Business

PLACES = [
    ("services:week", _("Week"), STAFF),
    ("services:day", _("Day"), CREW),
    ("clients:properties", _("Properties"), STAFF),
    ("treatments:rotations", _("Rotations"), STAFF),
    ("treatments:store", _("Store"), STAFF),
    ("treatments:records", _("Records"), EVERYONE),
    ("services:people", _("People"), STAFF),
]
# Where pages stand that do not lie under the address of their place.
BEGINNINGS = {
    "services:week": "notices signs replan plannings courses visits days-asked",
    "services:day": "weather air dispatches",
    "clients:properties": "clients plantings weather-stations money estimates statements bring",
    "treatments:rotations": "resistance",
    "treatments:store": "products ingredients pests mix leftovers spills sprayers papers",
    "treatments:records": "rules corrections inspectors",
    "services:people": "crews trucks yards applicators business phones review outgoing exports "
    "programs",
}
PLACE_OF = {beginning: place for place, words in BEGINNINGS.items() for beginning in words.split()}


@dataclass(frozen=True, slots=True)
class Place:
    """One of the places, and whether the page belongs to it."""

    url: str
    word: str
    is_current: bool


def frame(request):
    """Give every page the business and the places."""
    return {
        "business": SimpleLazyObject(Business.of_this_book),
        "places": SimpleLazyObject(lambda: places_for(request)),
    }


def places_for(request):
    """Return the places that a person's role opens; the one the page lies in is current."""
    # A request refused before it was known whose it is has no user.
    user = getattr(request, "user", AnonymousUser())
    open_to = [(name, word) for name, word, roles in PLACES if has_role(user, roles)]
    known = [(url, word) for name, word in open_to if (url := _address(name))]
    within = [url for url, _word in known if _lies_in(request.path, url)]
    beside = _address(PLACE_OF.get(request.path.split("/")[1], ""))
    nearest = max(within, key=len, default=beside)
    return [Place(url, str(word), url == nearest) for url, word in known]


def _address(name):
    try:
        return reverse(name) if name else ""
    except NoReverseMatch:
        return ""


def _lies_in(path, url):
    return path == url or (url != "/" and path.startswith(url))
