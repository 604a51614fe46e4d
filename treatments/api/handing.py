"""Returns that were filed; copies of records stand with the records."""

from django.utils import timezone
from django.utils.translation import gettext as _
from rest_framework import serializers

from clients.access import OFFICE, STAFF
from treatments.api.keeping import AddedViewSet
from treatments.handing import file_return
from treatments.models import ReturnFiled
from treatments.rules.records import return_rule


class FiledSerializer(serializers.ModelSerializer):
    """That the return of the period in which a day lies was filed."""

    jurisdiction = serializers.CharField(max_length=6)
    day = serializers.DateField(write_only=True, help_text="Any day of the period.")

    class Meta:
        model = ReturnFiled
        fields = ["id", "jurisdiction", "day", "first_day", "filed_on", "how", "filed_by"]
        read_only_fields = ["first_day", "filed_by"]

    def create(self, validated_data):
        rule = return_rule(validated_data["jurisdiction"])
        if rule is None:
            said = _("No return is known for this place.")
            raise serializers.ValidationError({"jurisdiction": [said]})
        first = rule.first_day(validated_data["day"])
        file_return(
            rule,
            first,
            on=validated_data["filed_on"],
            how=validated_data["how"],
            by=self.context["request"].user,
            at=timezone.now(),
        )
        return ReturnFiled.objects.get(jurisdiction=f"US-{rule.jurisdiction}", first_day=first)


class FiledViewSet(AddedViewSet):
    """Returns that were filed; twice keeps the first."""

    readers = STAFF
    writers = OFFICE
    queryset = ReturnFiled.objects.all()
    serializer_class = FiledSerializer
