"""Whose phone is to be enrolled."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.utils.translation import gettext_lazy as _

from clients.access import CREW


class PersonChoice(forms.ModelChoiceField):
    """A person by the full name."""

    def label_from_instance(self, person):
        return person.get_full_name() or person.get_username()


class PhoneForm(forms.Form):
    """The person who carries a phone, and what it is called."""

    person = PersonChoice(
        queryset=get_user_model().objects.none(), label=_("person"), empty_label=_("choose")
    )
    name = forms.CharField(
        label=_("name of the phone"),
        max_length=100,
        help_text=_("Such as what is written on it."),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        crew = get_user_model().objects.filter(is_active=True, groups__name__in=CREW)
        person: Any = self.fields["person"]
        person.queryset = crew.order_by("last_name", "first_name", "username")
