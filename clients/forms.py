"""What a person types of clients, properties and plantings."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.keeping import Stale, differences, keep
from clients.lying import as_typed, refuse_far_east
from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from clients.models.property import STATE_CODE


def _within(degrees: int, sentence: Any) -> Callable[[Decimal], None]:
    def check(value: Decimal) -> None:
        if not -degrees <= value <= degrees:
            raise ValidationError(sentence, code="not_on_earth")

    return check


ON_EARTH = {
    "latitude": _within(90, _("Latitude lies between -90 and 90 degrees.")),
    "longitude": _within(180, _("Longitude lies between -180 and 180 degrees.")),
}


class LyingForm(forms.BaseForm):
    """A form that reads state and coordinates as people write them."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in {"latitude", "longitude"} & set(self.fields):
            # Not a number's field: a browser would refuse what a map copies.
            self.fields[name].widget = forms.TextInput()
            # What is beyond the earth has too many digits as well, which helps nobody.
            self.fields[name].validators = [ON_EARTH[name]]
        if "region" in self.fields:
            self.fields["region"].widget = forms.TextInput()
        if "jurisdiction" in self.fields:
            # A name is longer than the code that is kept; a browser would cut it.
            self.fields["jurisdiction"].widget = forms.TextInput()
            self.fields["jurisdiction"].validators = [STATE_CODE]
        if self.is_bound:
            sent: Any = self.data.copy()  # type: ignore[attr-defined]
            for name, text in as_typed(sent, self.add_prefix("")).items():
                sent[name] = text
            self.data = sent


class KeepingForm(forms.ModelForm):
    """A form that remembers which version was read, and says so when it is no longer the newest."""

    read_version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["read_version"].initial = self.instance.version

    def keep(self):
        """Keep what was typed; return it, or None with the reason among the errors."""
        try:
            return keep(self.instance, version=self.cleaned_data["read_version"])
        except Stale as stale:
            lines = differences(self.instance, stale.current, self.changed_data_fields())
            self.add_error(None, [stale, *lines])
            # The stubs know what was sent as any mapping; Django gives a QueryDict.
            sent: Any = self.data.copy()  # type: ignore[attr-defined]
            sent[self.add_prefix("read_version")] = stale.current.version
            self.data = sent
            return None

    def changed_data_fields(self):
        """Return the names of the model's fields in this form."""
        return [name for name in self.fields if name not in self.declared_fields]


class NamedForm(KeepingForm):
    """A form that asks before it keeps a second thing of one name, as when it is sent twice."""

    is_another = forms.BooleanField(
        required=False, label=_("this is another one of the same name, and both are kept")
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not (self.is_bound and self.has_namesake()):
            del self.fields["is_another"]

    def siblings(self):
        """Return the things among which a name is looked for."""
        raise NotImplementedError

    def has_namesake(self):
        """Say whether what is typed would be a second one of its name."""
        name = self.data.get(self.add_prefix("name"), "").strip()
        return self.instance.pk is None and self.siblings().filter(name__iexact=name).exists()

    def clean_is_another(self):
        """Refuse what nobody said is another one."""
        if not self.cleaned_data["is_another"]:
            raise ValidationError(_("One of this name is in the book already."))
        return True


class ClientForm(LyingForm, NamedForm):
    """A client's card."""

    class Meta:
        model = Client
        fields = [
            "name",
            "email",
            "mail_came_back_on",
            "letters_stopped_on",
            "phone",
            "street",
            "city",
            "region",
            "postal_code",
            "language",
            "organic_only",
            "wants_notice",
            "note",
        ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not self.instance.pk:
            # Of somebody who was never written to.
            del self.fields["mail_came_back_on"], self.fields["letters_stopped_on"]

    def siblings(self):
        return Client.objects.all()

    def clean(self):
        """Forget that mail came back where the address is another one now."""
        super().clean()
        if "email" in self.changed_data and "mail_came_back_on" not in self.changed_data:
            self.cleaned_data["mail_came_back_on"] = None
        return self.cleaned_data


class PropertyForm(LyingForm, NamedForm):
    """A property: where it lies, what must be minded there, how to get in."""

    class Meta:
        model = Property
        fields = [
            "name",
            "street",
            "city",
            "county",
            "postal_code",
            "jurisdiction",
            "latitude",
            "longitude",
            "time_zone",
            "production_site",
            "bees",
            "open_water",
            "water_distance_ft",
            "well",
            "well_distance_ft",
            "kitchen_garden",
            "garden_distance_ft",
            "children",
            "pets",
            "minded_note",
            "access_note",
            "gate_code",
            "nearest_hospital",
        ]

    def __init__(self, *args, shows_gate_code=True, **kwargs):
        super().__init__(*args, **kwargs)
        if not shows_gate_code:
            del self.fields["gate_code"]

    def siblings(self):
        return Property.objects.filter(client=self.instance.client_id)

    def clean(self):
        """Refuse a place that lies on the other side of the earth than its state."""
        cleaned = super().clean() or {}
        refuse_far_east(cleaned.get("jurisdiction") or "", cleaned.get("longitude"))
        return cleaned


class PlantingForm(NamedForm):
    """A planting: what grows there, how large it is, when it blooms and is harvested."""

    class Meta:
        model = Planting
        fields = [
            "name",
            "common_name",
            "species",
            "eppo_code",
            "plant_group",
            "habit",
            "plants",
            "length_ft",
            "width_ft",
            "height_ft",
            "faces",
            "top_treated",
            "measured_area_sq_ft",
            "bloom_start",
            "bloom_end",
            "attracts_bees",
            "edible",
            "harvest_on",
            "waxy_leaf",
            "drought_stressed",
            "irrigation",
            "note",
        ]

    def siblings(self):
        return Planting.objects.filter(property=self.instance.property_id)


class AccessWindowForm(forms.ModelForm):
    """Hours of a weekday in which a crew is let in."""

    class Meta:
        model = AccessWindow
        fields = ["weekday", "opens", "closes"]
        widgets = {"opens": forms.TimeInput, "closes": forms.TimeInput}


class NeighbourForm(forms.ModelForm):
    """Somebody who must or wants to be told."""

    class Meta:
        model = Neighbour
        fields = ["name", "ground", "asked_on", "address", "email", "phone", "distance_ft"]
