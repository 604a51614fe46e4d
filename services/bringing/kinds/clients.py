"""Clients from a file."""

from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms import ClientForm
from clients.models import Client
from services.bringing.columns import Column, Kind, columns_for
from services.bringing.finding import plain
from services.bringing.postal import with_leading_zeros


class Clients(Kind):
    """Clients: two of one name are the same where street and ZIP code are the same as well."""

    name, noun = "clients", gettext_lazy("clients")

    class Meta:
        model = Client
        fields = ()

    def make_columns(self) -> list[Column]:
        return columns_for(Client, ClientForm.Meta.fields)

    def key_of(self, thing: Client) -> tuple:
        return plain(thing.name), plain(thing.street), thing.postal_code.strip()

    def before_import_row(self, row, **kwargs) -> None:
        row |= with_leading_zeros(self, row)

    def check_row(self, thing: Client, wrong: set[str]) -> None:
        super().check_row(thing, wrong)
        if "name" not in wrong and plain(thing.name) in self.names:
            self.hint("name", _("Another client of this name is in the book; both will be."))

    @cached_property
    def names(self) -> set[str]:
        """Hold the names of the clients in the book."""
        return {key[0] for key in self.in_book}
