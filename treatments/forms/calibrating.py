"""A calibration worksheet as it is filled in, with room for several runs and catches."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from treatments.calibrating import WORKSHEETS, Reading, keep_calibration, work_out
from treatments.clocks import home_day
from treatments.forms.mixing import SMALLEST
from treatments.forms.refusals import tell
from treatments.models import Applicator, Calibration, Sprayer
from treatments.rules.worksheets import Output

LARGEST = 1_000_000


class RunsWidget(forms.MultiWidget):
    """Several numbers of a kind, side by side."""

    def __init__(self, room: int):
        # Text, because a number's own field would drop what it cannot read.
        super().__init__(
            [
                forms.TextInput(attrs={"inputmode": "decimal", "aria-label": n, "size": 5})
                for n in range(1, room + 1)
            ]
        )
        self.room = room

    def decompress(self, value):
        return [*(value or []), *[None] * self.room][: self.room]


class RunsField(forms.MultiValueField):
    """Several numbers of a kind, of which some may stay empty."""

    def __init__(self, *, room: int, required: bool, **options):
        one: dict[str, Any] = {"max_digits": 10, "decimal_places": 4, "required": False}
        one |= {"min_value": SMALLEST, "max_value": LARGEST}
        numbers = [forms.DecimalField(**one) for _number in range(room)]
        super().__init__(
            numbers,
            widget=RunsWidget(room),
            required=required,
            require_all_fields=False,
            **options,
        )

    def compress(self, data_list):
        return [each for each in data_list if each is not None]


def field_of(reading: Reading):
    """Return the field in which a reading is typed; whether it is enough is the worksheet's."""
    shown: dict[str, Any] = {"label": reading.label, "help_text": reading.hint}
    if reading.room > 1:
        field: Any = RunsField(room=reading.room, required=reading.fewest > 0, **shown)
    else:
        field = forms.DecimalField(
            max_digits=10,
            decimal_places=4,
            min_value=SMALLEST,
            max_value=LARGEST,
            required=reading.fewest > 0,
            **shown,
        )
    field.unit = reading.unit
    return field


class WorksheetForm(forms.Form):
    """A worksheet: its readings first, then who held which sprayer with which nozzle."""

    person = forms.ModelChoiceField(
        Applicator.objects.all(),
        label=gettext_lazy("person"),
        required=False,
        help_text=gettext_lazy("Who walked and sprayed; empty where it holds for anybody."),
    )
    nozzle = forms.CharField(label=gettext_lazy("nozzle"), max_length=100)
    pressure_psi = forms.DecimalField(
        label=gettext_lazy("pressure"), max_digits=5, decimal_places=1, min_value=0, required=False
    )
    calibrated_on = forms.DateField(label=gettext_lazy("calibrated"), initial=home_day)
    expires_on = forms.DateField(
        label=gettext_lazy("holds until"),
        required=False,
        help_text=gettext_lazy("Empty for a year. A new nozzle, pump or pressure ends it sooner."),
    )

    def __init__(self, *args, method: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.method = method
        self.sheet = WORKSHEETS[Calibration.Method(method)]
        own = {each.name: field_of(each) for each in self.sheet.readings}
        self.fields = {**own, **self.fields}

    def readings(self) -> dict[str, Any]:
        """Return what was read."""
        return {
            each.name: self.cleaned_data.get(each.name)
            for each in self.sheet.readings
            if each.name in self.cleaned_data
        }

    def leave_rest(self) -> None:
        """Forget what is wrong beside the readings: who held what is asked when it is kept."""
        counts = {"__all__", *(each.name for each in self.sheet.readings)}
        for name in set(self.errors) - counts:
            del self.errors[name]

    def work_out(self) -> Output | None:
        """Return what the readings come to; None where they do not suffice, and it says so."""
        self.is_valid()
        if any(each.name in self.errors for each in self.sheet.readings):
            return None
        try:
            return work_out(self.method, self.readings())
        except ValidationError as refused:
            tell(self, refused)
            return None

    def keep(self, sprayer: Sprayer) -> Calibration | None:
        """Keep the calibration; None where it is refused."""
        names = ("person", "nozzle", "pressure_psi", "calibrated_on", "expires_on")
        told = {name: self.cleaned_data[name] for name in names}
        try:
            return keep_calibration(
                sprayer=sprayer, method=self.method, readings=self.readings(), **told
            )
        except ValidationError as refused:
            tell(self, refused)
            return None
