"""A file that somebody brings, and how it is to be read where that cannot be told from it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from services.bringing import ENCODINGS, KINDS, SEPARATORS, Sent
from services.bringing.reading import MOST_BYTES

WORDS = {"comma": _("comma"), "semicolon": _("semicolon"), "tab": _("tab")}
TOLD_APART = [("", _("told from the file"))]


class BringForm(forms.Form):
    """What a file holds, and the file itself."""

    kind = forms.ChoiceField(label=_("what it holds"))
    file = forms.FileField(
        label=_("file"),
        help_text=_("CSV or XLSX, at most 10 MB and 20,000 rows."),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )
    separator = forms.ChoiceField(
        label=_("columns are separated by"),
        required=False,
        choices=[*TOLD_APART, *((name, WORDS[name]) for name in SEPARATORS)],
        help_text=_("Of CSV. Choose only where the look shows that it was told wrongly."),
    )
    encoding = forms.ChoiceField(
        label=_("encoding"),
        required=False,
        choices=[*TOLD_APART, *((name, name.upper()) for name in ENCODINGS)],
        help_text=_("Of CSV, as above: ñ and é show whether it was told rightly."),
    )

    def __init__(self, *args, role, **kwargs):
        super().__init__(*args, **kwargs)
        kinds: Any = self.fields["kind"]
        kinds.choices = [(name, kind.noun) for name, kind in KINDS.items() if role in kind.roles]

    def clean_file(self):
        """Refuse a file that is too large before it is read."""
        sent = self.cleaned_data["file"]
        if sent.size > MOST_BYTES:
            raise forms.ValidationError(_("The file is larger than 10 MB: send it in parts."))
        return sent

    def sent(self) -> Sent:
        """Return the file as the action takes it."""
        typed = self.cleaned_data
        return Sent(
            kind=typed["kind"],
            name=typed["file"].name,
            content=typed["file"].read(),
            encoding=typed["encoding"],
            separator=typed["separator"],
        )
