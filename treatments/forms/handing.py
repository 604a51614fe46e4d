"""What is typed of copies that clients were given, and of returns that were filed."""

from datetime import date, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from treatments.forms.refusals import tell
from treatments.handing import file_return, give_copies
from treatments.models import ApplicationRecord, CopyGiven, ReturnFiled
from treatments.rules.records import ReturnRule

MOST_AT_ONCE = 100
LONGEST_NUMBER = 18  # digits; more than any database counts
TYPED_WAYS = [way for way in CopyGiven.Way.choices if way[0] != CopyGiven.Way.MAIL]


class CopiesForm(forms.Form):
    """The day on which copies of records were given, and how; the records go by their numbers."""

    given_on = forms.DateField(label=_("given on"))
    way = forms.ChoiceField(label=_("how"), choices=TYPED_WAYS)

    def __init__(self, *args, records=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.records = records

    def numbers(self) -> list[int]:
        """Return the numbers of the records that were chosen, as many as are taken at once."""
        sent: Any = self.data
        named = sent.getlist("number")[:MOST_AT_ONCE] if self.is_bound else []
        return [int(each) for each in named if each.isdecimal() and len(each) <= LONGEST_NUMBER]

    def clean(self):
        """Refuse a day without records."""
        if not self.numbers():
            raise ValidationError(_("Choose the records of which a copy was given."), code="none")
        return super().clean()

    def give(self, by, at: datetime) -> int | None:
        """Keep it; return of how many records it is new, None where it is refused."""
        typed = self.cleaned_data
        found: list[ApplicationRecord] = list(self.records.filter(number__in=self.numbers()))
        try:
            return give_copies(found, on=typed["given_on"], way=typed["way"], by=by, at=at)
        except ValidationError as refused:
            tell(self, refused)
            return None

    def sentences(self) -> list[str]:
        """Return what is wrong, as sentences."""
        return [str(sentence) for errors in self.errors.values() for sentence in errors]


class FiledForm(forms.ModelForm):
    """That the return of a period was filed."""

    class Meta:
        model = ReturnFiled
        fields = ["filed_on", "how"]

    def file(self, rule: ReturnRule, first_day: date, by, at: datetime) -> bool | None:
        """Keep it; say whether it is new, None where it is refused."""
        typed = self.cleaned_data
        try:
            return file_return(
                rule, first_day, on=typed["filed_on"], how=typed["how"], by=by, at=at
            )
        except ValidationError as refused:
            tell(self, refused)
            return None
