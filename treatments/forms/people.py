"""Applicators with their certificates, sprayers, and the business."""

from typing import ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.forms import LyingForm
from treatments.models import Applicator, Business, Certificate, Sprayer


class ApplicatorForm(forms.ModelForm):
    """A person who applies."""

    class Meta:
        model = Applicator
        fields = [
            "name",
            "user",
            "phone",
            "supervisor",
            "trained_on",
            "training",
            "trainer",
            "training_expires_on",
        ]


class CertificateForm(LyingForm, forms.ModelForm):
    """A certificate, with its categories typed with commas between them."""

    class Meta:
        model = Certificate
        fields = [
            "number",
            "jurisdiction",
            "categories",
            "issued_on",
            "expires_on",
            "is_limited",
            "bars_restricted_use",
            "own_property_only",
            "suspended_from",
            "reinstated_on",
        ]
        help_texts: ClassVar = {
            "categories": _(
                "As a product asks for them, with commas between: ornamental and turf, say."
            )
        }


class SprayerForm(forms.ModelForm):
    """A sprayer."""

    class Meta:
        model = Sprayer
        fields = ["name", "kind", "tank_gallons", "has_agitation", "reach_ft", "retired"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not self.instance.pk:
            del self.fields["retired"]


class BusinessForm(LyingForm, forms.ModelForm):
    """The name, license and address that stand on every paper."""

    class Meta:
        model = Business
        fields = [
            "name",
            "licence_number",
            "street",
            "city",
            "region",
            "postal_code",
            "phone",
            "email",
            "paper",
        ]
