"""What a person types of one-time codes, recovery codes and the password beside them."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from services.forms.people import RefusedBesideField

MOST_LETTERS = 60  # of what is typed with gaps


class PhoneCodeField(forms.CharField):
    """A code from the phone, which the phone's own browser can fill in."""

    is_asked = True  # it is no mistake to leave it empty only where one of paper is typed

    def __init__(self, *, is_first=False, required=True):
        attributes = {"autocomplete": "one-time-code", "inputmode": "numeric"}
        if is_first:
            attributes["autofocus"] = ""
        super().__init__(
            label=gettext_lazy("code"),
            help_text=gettext_lazy("The six digits that your phone shows now."),
            max_length=MOST_LETTERS,
            required=required,
            widget=forms.TextInput(attrs=attributes),
        )


def password_field():
    """Return the field of the password that is asked again."""
    return forms.CharField(
        label=gettext_lazy("your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class FirstCodeForm(RefusedBesideField):
    """The first code, by which codes are turned on."""

    one_time_code = PhoneCodeField()


class TurnOnForm(FirstCodeForm):
    """The first code, with the password asked again."""

    password = password_field()


class CodeForm(forms.Form):
    """A code of the phone, or one of paper in its place."""

    one_time_code = PhoneCodeField(is_first=True, required=False)
    recovery_code = forms.CharField(
        label=gettext_lazy("or a recovery code"),
        help_text=gettext_lazy(
            "Without the phone: one that you have not used; gaps do not matter."
        ),
        max_length=MOST_LETTERS,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )

    def clean(self):
        typed = super().clean()
        if not self.errors and not self.typed():
            raise ValidationError(_("Type the code that your phone shows."), code="required")
        return typed

    def typed(self):
        """Return the code, of whichever kind."""
        given = self.cleaned_data
        return given.get("one_time_code") or given.get("recovery_code") or ""

    def refuse(self, sentence):
        """Put what is wrong beside the code that was typed."""
        self.add_error(
            "one_time_code" if self.cleaned_data.get("one_time_code") else "recovery_code", sentence
        )


class ConfirmForm(CodeForm):
    """Password and code, by which codes are changed or turned off."""

    password = password_field()
    one_time_code = PhoneCodeField(required=False)
    field_order = ("password",)


class WantedForm(RefusedBesideField):
    """Whether owner and office sign in with codes."""

    are_wanted = forms.BooleanField(
        label=gettext_lazy("owners and office must sign in with a code"), required=False
    )
