"""Plans days anew when something came between, with the least upset: offers, and one chosen."""

from services.replanning.choosing import choose
from services.replanning.offers import CameBetween, horizon_of, offer_of, tours_as_they_are

__all__ = ["CameBetween", "choose", "horizon_of", "offer_of", "tours_as_they_are"]
