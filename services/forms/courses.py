"""What a person types of courses: where a rotation is put on, when a visit goes, how it ended."""

from datetime import date, timedelta
from typing import cast

from django import forms
from django.http import QueryDict
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from clients.offering import MOST_OFFERED, offered_of, said_of_many
from services.models import Course, Hold
from services.sheets.dates import long_day
from treatments.models import Rotation

LONGEST_HOLD = timedelta(days=90)  # this project's choice


class PlantingsByProperty(forms.ModelMultipleChoiceField):
    """Plantings to tick, under the name of their property."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **options):
        super().__init__(queryset=Planting.objects.none(), **options)

    def offer(self, plantings, chosen):
        """Offer plantings, which are loaded with their properties and clients.

        Of many the first are offered, and those that were chosen already, by their ids.
        """
        self.queryset = plantings
        shown = offered_of(plantings, chosen, plantings)
        if len(shown) >= MOST_OFFERED:
            self.help_text = said_of_many()
        groups: dict[str, list] = {}
        for planting in shown:
            place = planting.property
            heading = f"{place.name}, {place.client.name}"
            groups.setdefault(heading, []).append((planting.pk, self.label_from_instance(planting)))
        self.choices = list(groups.items())

    def label_from_instance(self, planting):
        """Name a planting without its property, which stands above it."""
        return f"{planting.name} ({planting.common_name})"


class NewCourseForm(forms.Form):
    """A rotation, the plantings it is put on, and the first day.

    `looked_at` says for which choice the findings were shown: what a person has not seen is shown
    before it is kept.
    """

    rotation = forms.ModelChoiceField(
        label=_("rotation"),
        queryset=Rotation.objects.filter(
            retired=False, is_draft=False, weeks__isnull=False
        ).distinct(),
    )
    plantings = PlantingsByProperty(label=_("plantings"))
    first_day = forms.DateField(
        label=_("first day"), help_text=_("Of week one; the other weeks are counted from it.")
    )
    looked_at = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, plantings, **kwargs):
        super().__init__(*args, **kwargs)
        chosen = self.initial.get("plantings", [])
        if self.is_bound:
            chosen = cast(QueryDict, self.data).getlist(self.add_prefix("plantings"))
        cast(PlantingsByProperty, self.fields["plantings"]).offer(plantings, chosen)

    def choice(self):
        """Return the choice as one text, to tell whether it was looked at."""
        keys = sorted(planting.pk for planting in self.cleaned_data["plantings"])
        parts = [self.cleaned_data["rotation"].pk, self.cleaned_data["first_day"], *keys]
        return ":".join(map(str, parts))

    def was_looked_at(self):
        """Say whether the findings of this very choice were shown."""
        return self.cleaned_data["looked_at"] == self.choice()

    def note_looked_at(self):
        """Write down which choice the findings are shown of."""
        typed = cast(QueryDict, self.data).copy()
        typed[self.add_prefix("looked_at")] = self.choice()
        self.data = typed


class MoveForm(forms.Form):
    """Another of the days of a visit, and the version of the visit that was shown."""

    day = forms.TypedChoiceField(
        label=_("day"), coerce=date.fromisoformat, widget=forms.RadioSelect
    )
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args, visit, today, **kwargs):
        kwargs["initial"] = {"day": visit.planned.isoformat(), "version": visit.version}
        super().__init__(*args, **kwargs)
        first = max(visit.earliest, today)
        length = (visit.latest - first).days + 1
        days = [first + timedelta(days=place) for place in range(length)]
        offered = cast(forms.TypedChoiceField, self.fields["day"])
        offered.choices = [(day.isoformat(), _named(day, visit)) for day in days]

    def show_version(self, version):
        """Take the version that is shown now, so that what was typed may be sent again."""
        typed = cast(QueryDict, self.data).copy()
        typed["version"] = version
        self.data = typed


def _named(day, visit):
    name = long_day(day, get_language())
    if day == visit.planned:
        return gettext("%(day)s, as planned") % {"day": name}
    return name


class HoldForm(forms.ModelForm):
    """Why a visit is put off."""

    class Meta:
        model = Hold
        fields = ["reason", "note"]

    def clean(self):
        super().clean()
        typed = self.cleaned_data
        if typed.get("reason") == Hold.Reason.OTHER and not typed.get("note"):
            self.add_error("note", _("Say which other reason it is."))
        return typed


class HoldUntilForm(HoldForm):
    """Why a visit is put off, and until when at least."""

    not_before = forms.DateField(
        label=_("not before"),
        required=False,
        help_text=_(
            "The visit is planned for this day or the next on which it may be, and the later weeks "
            "follow. Left empty, all days stay until the hold is lifted."
        ),
    )

    def __init__(self, *args, today, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_not_before(self):
        """Refuse a day that has passed, and one beyond any season."""
        day = self.cleaned_data["not_before"]
        if day and not self.today <= day <= self.today + LONGEST_HOLD:
            raise forms.ValidationError(_("Choose a day from today on, within the next 90 days."))
        return day


class EndForm(forms.Form):
    """How a course came out."""

    outcome = forms.ChoiceField(
        label=_("how it came out"),
        choices=[choice for choice in Course.Outcome.choices if choice[0]],
        widget=forms.RadioSelect,
    )
    note = forms.CharField(
        label=_("in words"), required=False, max_length=1000, widget=forms.Textarea
    )
