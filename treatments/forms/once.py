"""A form that has its effect once, however often its button is pressed."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django import forms
from django.core.cache import cache
from django.core.exceptions import ValidationError

from treatments.forms.refusals import tell

REMEMBERED_SECONDS = 24 * 60 * 60


class OnceForm(forms.Form):
    """A form that hands what was typed to an action, and its refusals back to who typed it."""

    form_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def typed(self) -> dict[str, Any]:
        """Return what was typed, without the name of the form."""
        return {name: value for name, value in self.cleaned_data.items() if name != "form_id"}

    def hand_to(self, action: Callable, *given, **others):
        """Call an action with what was typed and return what it returns.

        Return True when the same form was sent before, None when the action refuses: then the
        reasons stand among the errors.
        """
        key = f"form-{self.cleaned_data.get('form_id') or uuid4()}"
        if not cache.add(key, True, REMEMBERED_SECONDS):
            return True
        try:
            return action(*given, **self.typed(), **others)
        except ValidationError as refused:
            cache.delete(key)
            tell(self, refused)
            return None
