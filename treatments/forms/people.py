"""Applicators with their certificates, sprayers, and the business."""

from django import forms

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


class SprayerForm(forms.ModelForm):
    """A sprayer."""

    class Meta:
        model = Sprayer
        fields = ["name", "kind", "tank_gallons", "has_agitation", "reach_ft", "retired"]


class BusinessForm(forms.ModelForm):
    """The name, licence and address that stand on every paper."""

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
