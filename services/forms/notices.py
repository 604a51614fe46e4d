"""What a person types of an attempt to tell somebody of a visit."""

from datetime import UTC, datetime
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from services.models import ContactAttempt
from services.telling import log_contact, people_to_tell

EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)  # far before it clocks cannot be reckoned


class ContactForm(forms.Form):
    """Whom, when, how, and what came of it; the same form is kept once."""

    person = forms.ChoiceField(label=_("whom"))
    at = forms.DateTimeField(
        label=_("when"),
        help_text=_("By the clocks of the property."),
        validators=[MinValueValidator(EARLIEST)],
    )
    way = forms.ChoiceField(label=_("how"), choices=ContactAttempt.Way.choices)
    outcome = forms.ChoiceField(label=_("outcome"), choices=ContactAttempt.Outcome.choices)
    note = forms.CharField(label=_("note"), max_length=400, required=False)
    form_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(self, *args, visit, **kwargs):
        super().__init__(*args, **kwargs)
        self.visit = visit
        self.readers = {reader.person: reader for reader in people_to_tell(visit)}
        named = [(person, reader.name) for person, reader in self.readers.items()]
        self.fields["person"].choices = named  # type: ignore[attr-defined]  # of a ChoiceField
        self.fields["at"].initial = _this_minute

    def keep(self, by):
        """Keep the attempt; return it, or None with the reason among the errors."""
        typed = dict(self.cleaned_data)
        reader = self.readers[typed.pop("person")]
        try:
            return log_contact(self.visit, reader, by=by, **typed)
        except ValidationError as refused:
            self.add_error("at" if refused.code == "in_the_future" else None, refused)
            return None


def _this_minute() -> datetime:
    return timezone.localtime().replace(second=0, microsecond=0)
