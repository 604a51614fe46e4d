"""The address in which all that is asked of a proposal stands, and what it is after a change."""

from django.http import QueryDict

from treatments.forms.proposing import OWN_RATE
from treatments.forms.sheet import REASON
from treatments.proposing import SKIPPED
from treatments.rules.composing import Family

# Which part is open and what is typed to keep it; not what is asked.
NOT_ASKED = {"plan", "why", "codes", "name", "csrfmiddlewaretoken"}
WHOLE = "all"  # in place of a week: every week at once
TICKED = {Family.ORGANIC_WISH: "organic_only", Family.WARNINGS: "without_warnings"}


class Address:
    """What stands in the address, and the addresses of the next steps."""

    def __init__(self, query: QueryDict) -> None:
        self._query = QueryDict(mutable=True)
        for name, values in query.lists():
            if name not in NOT_ASKED and not name.startswith(REASON):
                self._query.setlist(name, values)

    def _changed(self, **changes: list[str]) -> QueryDict:
        query = self._query.copy()
        for name, values in changes.items():
            query.setlist(name, values)
        return query

    def _pins_beside(self, week: int) -> list[str]:
        sent = self._query.getlist("pin")
        return [pin for pin in sent if pin.partition(":")[0] != str(week)]

    def fixing(self, week: int, code: str) -> str:
        """Return the address after a week is fixed to a product."""
        return f"?{self._changed(pin=[*self._pins_beside(week), f'{week}:{code}']).urlencode()}"

    def skipping(self, week: int) -> str:
        """Return the address after a week is left out."""
        return self.fixing(week, SKIPPED)

    def freeing(self, week: int) -> str:
        """Return the address after a week is free again."""
        return f"?{self._changed(pin=self._pins_beside(week)).urlencode()}"

    def asking_why(self, plan: int, week: int) -> str:
        """Return the address that opens, under a plan's week, what speaks against each product."""
        query = self._changed()
        query["plan"], query["why"] = str(plan), str(week)
        return f"?{query.urlencode()}"

    def asking_table(self, plan: int) -> str:
        """Return the address that shows how every product stands in every week of a plan."""
        query = self._changed()
        query["plan"], query["why"] = str(plan), WHOLE
        return f"?{query.urlencode()}"

    def giving_up(self, families: tuple[Family, ...]) -> str:
        """Return the address after wishes are given up."""
        query = self._changed()
        for family in families:
            if family in TICKED:
                query.pop(TICKED[family], None)
            elif family is Family.PINS:
                query.pop("pin", None)
            else:
                query.setlist("given_up", [*query.getlist("given_up"), family.value])
        return f"?{query.urlencode()}"

    def wishing(self, family: Family) -> str:
        """Return the address after a wish that was given up is wished again."""
        left = [value for value in self._query.getlist("given_up") if value != family.value]
        return f"?{self._changed(given_up=left).urlencode()}"

    def hidden(self) -> list[tuple[str, str]]:
        """Return all that is asked as names and values, for a form that sends it once more."""
        return [(name, value) for name, values in self._query.lists() for value in values]

    def beside_the_form(self) -> list[tuple[str, str]]:
        """Return what is asked but not typed there: fixed weeks, wishes given up, own rates."""
        return [
            (name, value)
            for name, value in self.hidden()
            if name in ("pin", "given_up") or name.startswith(OWN_RATE)
        ]

    def beside_the_rates(self) -> list[tuple[str, str]]:
        """Return all that is asked but the own rates, for the form in which they are typed."""
        return [pair for pair in self.hidden() if not pair[0].startswith(OWN_RATE)]
