"""Days and weeks in addresses, as ISO 8601 writes them."""

from datetime import date


class IsoDay:
    """A day, such as 2026-07-06."""

    regex = r"20\d\d-\d\d-\d\d"

    def to_python(self, text):
        """Return the date; a ValueError makes the address unknown."""
        return date.fromisoformat(text)

    def to_url(self, day):
        """Return how the day stands in an address."""
        return day.isoformat()


class IsoWeek:
    """A week, such as 2026-W28, given by its Monday."""

    regex = r"20\d\d-W\d\d"

    def to_python(self, text):
        """Return the Monday; a ValueError makes the address unknown."""
        year, week = text.split("-W")
        return date.fromisocalendar(int(year), int(week), 1)

    def to_url(self, day):
        """Return the week a day lies in as it stands in an address."""
        year, week, _weekday = day.isocalendar()
        return f"{year}-W{week:02}"
