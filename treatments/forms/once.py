"""A form that has its effect once, however often its button is pressed."""

from collections.abc import Callable
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError

from treatments.forms.refusals import tell


class OnceForm(forms.Form):
    """A form that hands what was typed to an action, and its refusals back to who typed it.

    The action is told the form's own id, by which it knows what it has kept of it already.
    """

    form_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def clean_form_id(self):
        """Return the id that came with the form; one that came without is a form of its own."""
        return self.cleaned_data["form_id"] or uuid4()

    def hand_to(self, action: Callable, *given, **others):
        """Call an action with what was typed and return what it returns.

        Return None when the action refuses: then the reasons stand among the errors.
        """
        try:
            return action(*given, **self.cleaned_data, **others)
        except ValidationError as refused:
            tell(self, refused)
            return None
