"""Findings and moments as programs are told them."""

from django.utils.translation import gettext_lazy as _
from rest_framework import serializers

from treatments.api.rotations import FindingSerializer, told_finding
from treatments.rules.findings import Finding, refuses


class Moment(serializers.DateTimeField):
    """A moment with its offset from UTC; one without could be any of 24 [RFC3339]."""

    default_error_messages = {
        "without_offset": _("Give the offset from UTC as well, such as 2026-07-06T18:40:00-04:00.")
    }

    def enforce_timezone(self, value):
        """Refuse a moment without an offset."""
        if value.tzinfo is None:
            self.fail("without_offset")
        return super().enforce_timezone(value)


class VerdictSerializer(serializers.Serializer):
    """Whether anything stops the work, and what there is to say."""

    may_spray = serializers.BooleanField()
    findings = FindingSerializer(many=True)


def verdict_of(findings: list[Finding]) -> dict:
    """Return findings as a verdict."""
    return {
        "may_spray": not refuses(findings),
        "findings": [told_finding(each) for each in findings],
    }
