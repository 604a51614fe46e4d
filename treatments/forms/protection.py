"""Protective equipment handed out, and fit tests of respirators."""

from django import forms

from treatments.models import FitTest, ProtectionIssued


class ProtectionForm(forms.ModelForm):
    """What was handed to somebody, and when it came back."""

    class Meta:
        model = ProtectionIssued
        fields = ["item", "size", "pieces", "issued_on", "replace_by", "returned_on", "note"]


class FitTestForm(forms.ModelForm):
    """Which respirator was tried on somebody, and whether it fits."""

    class Meta:
        model = FitTest
        fields = ["respirator", "tested_on", "way", "passed", "tester", "cleared_on"]
