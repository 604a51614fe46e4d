"""What the owner types to let an inspector look at records."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from clients.access import Role
from clients.lying import state_named
from clients.models import Client, Property
from treatments.forms.records import day_of_work
from treatments.forms.refusals import tell
from treatments.inspecting import grant
from treatments.models.inspecting import USUAL_DAYS


class GrantForm(forms.Form):
    """Who may look, at which records, and for how many days."""

    inspector = forms.ModelChoiceField(
        get_user_model().objects.filter(groups__name=Role.INSPECTOR, is_active=True),
        label=_("inspector"),
        help_text=_("Somebody who signs in as an inspector; add one among the people first."),
    )
    purpose = forms.CharField(
        label=_("for whom and why"),
        max_length=200,
        help_text=_("Agency, and what is looked into."),
    )
    jurisdictions = forms.MultipleChoiceField(
        label=_("jurisdictions"), required=False, widget=forms.CheckboxSelectMultiple
    )
    client = forms.ModelChoiceField(
        Client.objects.all(),
        label=_("only one client"),
        required=False,
        empty_label=pgettext_lazy("clients", "all"),
    )
    first_day = day_of_work(_("applications from"))
    last_day = day_of_work(_("applications until"))
    days = forms.IntegerField(label=_("holds for"), min_value=1, initial=USUAL_DAYS)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        places = Property.objects.order_by("jurisdiction").values_list("jurisdiction", flat=True)
        choice: Any = self.fields["jurisdictions"]
        choice.choices = [(each, state_named(each)) for each in places.distinct()]

    def keep(self, by):
        """Keep the grant; return it, or None with the reasons among the errors."""
        try:
            return grant(**self.cleaned_data, by=by, now=timezone.now())
        except ValidationError as refused:
            tell(self, refused)
            return None
