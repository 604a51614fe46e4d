"""A column for a short list of codes, such as the stages a product reaches."""

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _


class TypedWords(forms.CharField):
    """Words typed with commas between them, kept as a list."""

    def prepare_value(self, value):
        return ", ".join(value) if isinstance(value, list) else value

    def clean(self, value):
        return [word.strip() for word in super().clean(value).split(",") if word.strip()]


class CodeListField(models.JSONField):
    """A JSON list of codes, each from `codes` when those are given."""

    def __init__(self, *args, codes=(), **kwargs):
        self.codes = tuple(codes)
        kwargs.setdefault("default", list)
        kwargs.setdefault("blank", True)
        super().__init__(*args, **kwargs)

    def validate(self, value, model_instance):
        super().validate(value, model_instance)
        if not isinstance(value, list) or not all(isinstance(code, str) for code in value):
            raise ValidationError(_("Give a list of codes."), code="not_a_list")
        known = {code for code, _name in self.codes}
        unknown = sorted(set(value) - known) if known else []
        if unknown:
            raise ValidationError(
                _("Unknown: %(codes)s."), params={"codes": ", ".join(unknown)}, code="unknown"
            )

    def formfield(self, **kwargs):
        shown = {
            "label": capfirst(self.verbose_name),
            "help_text": self.help_text,
            "required": not self.blank,
            **kwargs,
        }
        if not self.codes:
            return TypedWords(**shown)
        return forms.MultipleChoiceField(
            choices=self.codes, widget=forms.CheckboxSelectMultiple, **shown
        )
