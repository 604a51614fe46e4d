"""What a person types of people who sign in, and of the first owner."""

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.access import Role
from services.models import Crew, Technician

PASSWORD = _("Fifteen signs or more; a short sentence is easy to keep in mind.")


class RefusedBesideField(forms.Form):
    """A form that shows what an action refused beside the field it speaks of."""

    def add_refusal(self, refusal: ValidationError):
        """Put what an action refused beside its field, or at the top where it has none."""
        if not hasattr(refusal, "error_dict"):
            self.add_error("password" if _is_of_password(refusal) else None, refusal)
            return
        for name, errors in refusal.error_dict.items():
            self.add_error(name if name in self.fields else None, errors)


class PasswordForm(RefusedBesideField):
    """A password, typed twice."""

    password = forms.CharField(label=_("password"), help_text=PASSWORD, strip=False)
    again = forms.CharField(label=_("the password again"), strip=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("password", "again"):
            self.fields[name].widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})

    def clean(self):
        super().clean()
        typed = self.cleaned_data
        password = typed.get("password")
        if "again" not in self.errors and password != typed.get("again"):
            self.add_error("again", _("This is not the same password."))
        if password:
            try:
                validate_password(password)
            except ValidationError as weakness:
                self.add_error("password", weakness)
        return typed


class PersonForm(PasswordForm):
    """A person who may sign in; the password may be left for later."""

    first_name = forms.CharField(label=_("first name"), max_length=150)
    last_name = forms.CharField(label=_("last name"), max_length=150)
    username = forms.CharField(
        label=_("name to sign in with"), max_length=150, help_text=_("Letters, digits and . - _")
    )
    email = forms.EmailField(label=_("email"), required=False)
    role = forms.ChoiceField(label=_("role"), choices=Role.choices, initial=Role.TECHNICIAN)
    crew = forms.ModelChoiceField(
        label=_("crew"), queryset=Crew.objects.filter(retired=False), required=False
    )
    language = forms.ChoiceField(label=_("language"), choices=Technician.LANGUAGES)
    field_order = ["first_name", "last_name", "username", "email", "role", "crew", "language"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["password"].required = self.fields["again"].required = False
        self.fields["password"].help_text = _(
            "Fifteen signs or more. Left empty, the person cannot sign in until you set one."
        )

    def given(self):
        """Return what the action is told; no password where none was typed."""
        given = {name: value for name, value in self.cleaned_data.items() if name != "again"}
        return given | {"password": given["password"] or None, "role": Role(given["role"])}


class OwnerForm(PasswordForm):
    """The first owner of a new book."""

    first_name = forms.CharField(label=_("first name"), max_length=150)
    last_name = forms.CharField(label=_("last name"), max_length=150)
    email = forms.EmailField(label=_("email"), required=False)
    username = forms.CharField(
        label=_("name to sign in with"), max_length=150, help_text=_("Letters, digits and . - _")
    )
    field_order = ["first_name", "last_name", "email", "username"]

    def given(self):
        """Return what the action is told."""
        return {name: value for name, value in self.cleaned_data.items() if name != "again"}


class RoleForm(RefusedBesideField):
    """What somebody is in the business."""

    role = forms.ChoiceField(label=_("role"), choices=Role.choices)


class TechnicianForm(forms.ModelForm):
    """The crew, the language and the hours of a person."""

    first_name = forms.CharField(label=_("first name"), max_length=150)
    last_name = forms.CharField(label=_("last name"), max_length=150)

    class Meta:
        model = Technician
        fields = ["crew", "language", "phone", "shift_starts", "shift_ends"]
        widgets = {"shift_starts": forms.TimeInput, "shift_ends": forms.TimeInput}

    field_order = ["first_name", "last_name"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["first_name"].initial = self.instance.user.first_name
        self.fields["last_name"].initial = self.instance.user.last_name

    def save(self, commit=True):
        get_user_model().objects.filter(pk=self.instance.user_id).update(
            first_name=self.cleaned_data["first_name"], last_name=self.cleaned_data["last_name"]
        )
        return super().save(commit)


def _is_of_password(refusal: ValidationError) -> bool:
    return any(str(error.code or "").startswith("password_") for error in refusal.error_list)
