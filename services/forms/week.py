"""What a week is sifted by."""

from django import forms
from django.utils.translation import gettext_lazy as _

from services.models import Crew
from services.words import in_words

WEEKS = range(1, 27)


def rotation_weeks():
    """Return the weeks a rotation may have, in words."""
    named = [(str(week), _("week %(number)s") % {"number": in_words(week)}) for week in WEEKS]
    return [("", _("every week")), *named]


class WeekSift(forms.Form):
    """The week of the rotation, the crew, and words of client, planting or product."""

    rotation_week = forms.TypedChoiceField(
        label=_("Week of the rotation"),
        choices=rotation_weeks,
        coerce=int,
        empty_value=None,
        required=False,
    )
    crew = forms.ModelChoiceField(
        label=_("Crew"),
        queryset=Crew.objects.filter(retired=False),
        empty_label=_("every crew"),
        required=False,
    )
    words = forms.CharField(
        label=_("Client, planting or product"), required=False, widget=forms.SearchInput
    )

    def sift(self):
        """Return what was asked for; what cannot be read is left out."""
        return self.cleaned_data if self.is_valid() else {}
