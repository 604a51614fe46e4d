"""Findings as the API tells them."""

from django.utils.translation import gettext
from rest_framework import serializers

from treatments.composing import finding_key
from treatments.naming import in_words
from treatments.rules.findings import Finding, Severity


class FindingSerializer(serializers.Serializer):
    """One thing the rules say, in the language of the request."""

    key = serializers.CharField(help_text="The name under which a reason is given for a warning.")
    code = serializers.CharField()
    severity = serializers.ChoiceField(choices=[each.value for each in Severity])
    week = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()
    remedy = serializers.CharField()
    # Every field has a `source` of its own, which this one's name hides.
    source = serializers.CharField()  # type: ignore[assignment]


def told_finding(finding: Finding) -> dict:
    """Return a finding as the API tells it."""
    return {
        "key": finding_key(finding),
        "code": finding.code,
        "severity": finding.severity.value,
        "week": finding.week,
        "sentence": finding.say(gettext, in_words),
        "remedy": finding.say_remedy(gettext, in_words),
        "source": finding.source,
    }
