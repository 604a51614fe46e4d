"""A paper that is handed to the book, of a product or of a person."""

from typing import cast

from django import forms
from django.utils.translation import gettext_lazy as _

from treatments import papers
from treatments.models import KeptPaper


class PaperForm(forms.ModelForm):
    """The file and what it is."""

    file = forms.FileField(
        label=_("file"), help_text=_("A PDF or a picture (JPEG, PNG) of at most 20 MB.")
    )

    class Meta:
        model = KeptPaper
        fields = ["kind", "dated", "version"]

    def __init__(self, *args, kinds, **kwargs):
        super().__init__(*args, **kwargs)
        offered = cast(forms.TypedChoiceField, self.fields["kind"])
        offered.choices = [(kind.value, kind.label) for kind in kinds]

    def keep(self, by):
        """Keep the paper; say whether it was kept, and else what is wrong with its file."""
        try:
            papers.keep_paper(self.instance, self.cleaned_data["file"], by=by)
        except forms.ValidationError as refusal:
            self.add_error("file", refusal)
            return False
        return True
