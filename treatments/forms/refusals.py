"""Hands the refusals of an action back to who typed."""

from django import forms
from django.core.exceptions import ValidationError


def tell(form: forms.BaseForm, refused: ValidationError) -> None:
    """Put the reasons of a refusal beside the fields they speak of, the rest above the form."""
    if not hasattr(refused, "error_dict"):
        form.add_error(None, refused)
        return
    for name, errors in refused.error_dict.items():
        form.add_error(name if name in form.fields else None, errors)
