"""Keys of other programs, and addresses of theirs that are called."""

from datetime import timedelta
from typing import ClassVar, cast

from django import forms
from django.contrib.auth import get_user_model
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.access import CREW
from services.forms.phones import PersonChoice
from services.models import Hook, ProgramKey
from services.telling.hooks import refuse_address

LONGEST = timedelta(days=366)  # after which a key is made anew; our own choice


class KeyForm(forms.ModelForm):
    """Which program signs in as whom, for what, until when."""

    class Meta:
        model = ProgramKey
        fields = ["name", "person", "scopes", "expires_on"]
        field_classes: ClassVar = {"person": PersonChoice}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        people = get_user_model().objects.filter(is_active=True, groups__name__in=CREW)
        offered = cast(PersonChoice, self.fields["person"])
        offered.queryset = people.order_by("last_name", "first_name", "username")

    def clean_expires_on(self):
        """Refuse a day that has passed, and one that is too far."""
        day, today = self.cleaned_data["expires_on"], timezone.localdate()
        if not today <= day <= today + LONGEST:
            raise forms.ValidationError(_("Choose a day from today on, within a year."))
        return day


class HookForm(forms.ModelForm):
    """Which address is called, and when."""

    class Meta:
        model = Hook
        fields = ["name", "address", "events"]

    def clean_address(self):
        """Refuse an address at a server that the settings do not name."""
        refuse_address(self.cleaned_data["address"])
        return self.cleaned_data["address"]
