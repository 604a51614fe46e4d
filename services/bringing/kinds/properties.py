"""Properties from a file."""

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms import PropertyForm
from clients.lying import as_typed, refuse_far_east
from clients.models import Property
from services.bringing.cells import Named
from services.bringing.columns import Column, Kind, column_for, columns_for
from services.bringing.finding import InBook, plain
from services.bringing.postal import with_leading_zeros

LYING = ("latitude", "longitude", "jurisdiction")


class Properties(Kind):
    """Properties: known by client and name.  Coordinates may be missing and are filled in later."""

    name, noun = "properties", gettext_lazy("properties")

    class Meta:
        model = Property
        fields = ()

    def make_columns(self) -> list[Column]:
        clients = InBook().clients
        words = gettext_lazy("the client's name as in the book")
        client = column_for(
            Property._meta.get_field("client"), widget=Named(clients.find, clients.tell, words)
        )
        return [client, *columns_for(Property, PropertyForm.Meta.fields)]

    def key_of(self, thing: Property) -> tuple:
        return thing.client_id, plain(thing.name)

    def key_column(self) -> str:
        return "name"

    def rows_of_book(self):
        return Property.objects.select_related("client")

    def before_import_row(self, row, **kwargs) -> None:
        row |= as_typed({name: row[name] for name in LYING if row.get(name)})
        row |= with_leading_zeros(self, row)

    def check_fields(self, thing: Property, wrong: set[str]) -> None:
        blank = {name for name in ("latitude", "longitude") if getattr(thing, name) is None}
        super().check_fields(thing, wrong | blank)

    def check_row(self, thing: Property, wrong: set[str]) -> None:
        if len([None for each in (thing.latitude, thing.longitude) if each is None]) == 1:
            raise ValidationError({"longitude": _("Give both latitude and longitude, or neither.")})
        super().check_row(thing, wrong)
        refuse_far_east(thing.jurisdiction, thing.longitude)
        if not thing.is_located() and not wrong:
            said = _("Where it lies must be filled in later: until then no course can begin here.")
            self.hint("latitude", said)
