"""Applicators with their certificates, sprayers with what they put out, and the business."""

from django import forms

from treatments.models import Applicator, Business, Calibration, Certificate, Sprayer


class ApplicatorForm(forms.ModelForm):
    """A person who applies."""

    class Meta:
        model = Applicator
        fields = ["name", "user", "phone", "supervisor", "trained_on", "trainer"]


class CertificateForm(forms.ModelForm):
    """A certificate, with its categories typed with commas between them."""

    class Meta:
        model = Certificate
        fields = ["number", "jurisdiction", "categories", "issued_on", "expires_on"]


class SprayerForm(forms.ModelForm):
    """A sprayer."""

    class Meta:
        model = Sprayer
        fields = ["name", "kind", "tank_gallons", "has_agitation", "reach_ft", "retired"]


class CalibrationForm(forms.ModelForm):
    """What a sprayer puts out, as measured with water at the working pressure."""

    class Meta:
        model = Calibration
        fields = [
            "person",
            "nozzle",
            "pressure_psi",
            "method",
            "gallons_per_1000_sq_ft",
            "flow_gallons_per_minute",
            "calibrated_on",
            "expires_on",
        ]


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
