"""Signs that the air lies in still layers, ticked on the spot."""

from typing import TypedDict

from django import forms
from django.utils.translation import gettext_lazy as _

from treatments.rules.psychrometrics import SENTENCES, InversionSign

SIGNS = [(sign.name, _(SENTENCES[sign])) for sign in InversionSign]


class Sky(TypedDict):
    """What was seen of the sky and the air."""

    signs: list[InversionSign]
    solid_cloud: bool


class SignsForm(forms.Form):
    """Which signs of an inversion are seen; they are not kept, they only advise."""

    signs = forms.MultipleChoiceField(
        label=_("signs of still air"),
        choices=SIGNS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    solid_cloud = forms.BooleanField(label=_("a closed cover of cloud"), required=False)

    def sky(self) -> Sky:
        """Return what was seen, as the verdict is told of it."""
        seen = self.cleaned_data.get("signs") or []
        return {
            "signs": [InversionSign[name] for name in seen],
            "solid_cloud": bool(self.cleaned_data.get("solid_cloud")),
        }
