"""What a client wishes of what is written to him or her."""

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Client


class WishesForm(forms.ModelForm):
    """The language of letters, and whether a client is told before each visit."""

    class Meta:
        model = Client
        fields = ["language", "wants_notice"]
        labels = {"wants_notice": _("tell me before each visit")}
        help_texts = {"language": ""}
