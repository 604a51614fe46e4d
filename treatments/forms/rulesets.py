"""What the owner types of rules: a rule set of one's own, a choice, what was compared."""

from datetime import date, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from treatments.forms.refusals import tell
from treatments.models import OwnRuleSet, RuleChoice
from treatments.rulebook import choose_rules, confirm_facts, enter_ruleset
from treatments.rules.records import RuleFact, RuleSet


class OwnRuleSetForm(forms.ModelForm):
    """A version of the business's own rule set."""

    class Meta:
        model = OwnRuleSet
        fields = [
            "name",
            "citation",
            "valid_from",
            "required_fields",
            "record_deadline_hours",
            "record_deadline_days",
            "retention_years",
            "customer_copy_rule",
            "customer_copy_days",
            "sign_rule",
            "sign_when",
            "sign_hours",
            "sign_remover",
            "notice_who",
            "notice_ground",
            "notice_asked_days",
            "notice_within_ft",
            "notice_hours",
            "notice_hours_most",
            "notice_days",
            "notice_days_most",
            "notice_business_days",
            "notice_how",
        ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        fields: Any = self.fields["required_fields"]
        fields.choices = [(code, gettext(name)) for code, name in fields.choices]

    def enter(self, jurisdiction: str, by, at: datetime) -> OwnRuleSet | None:
        """Keep another version; None when that is refused."""
        try:
            return enter_ruleset(jurisdiction=jurisdiction, by=by, at=at, **self.cleaned_data)
        except ValidationError as refused:
            tell(self, refused)
            return None


class ChoiceForm(forms.Form):
    """Under which rule set the business works from a day on."""

    uses = forms.ChoiceField(
        label=_("works under"), choices=RuleChoice.Uses.choices, widget=forms.RadioSelect
    )
    holds_from = forms.DateField(
        label=_("from"), help_text=_("Work that was done before goes by the choice of its day.")
    )

    def choose(self, jurisdiction: str, by, at: datetime) -> bool:
        """Keep the choice; False when it is refused."""
        try:
            choose_rules(jurisdiction=jurisdiction, by=by, at=at, **self.cleaned_data)
        except ValidationError as refused:
            tell(self, refused)
            return False
        return True


class ConfirmForm(forms.Form):
    """Which facts were compared with the code, when and with what."""

    facts = forms.MultipleChoiceField(
        label=_("found to agree with the code"), widget=forms.CheckboxSelectMultiple
    )
    compared_on = forms.DateField(label=_("compared on"))
    compared_with = forms.CharField(
        label=_("compared with"),
        max_length=300,
        help_text=_("Where the code was read: the official text, its section, its address."),
    )

    def __init__(self, *args, unsure: list[RuleFact], today: date, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = today
        facts: Any = self.fields["facts"]
        facts.choices = [(each.fact, gettext(each.name)) for each in unsure]
        self.fields["compared_on"].initial = today

    def clean_compared_on(self):
        compared = self.cleaned_data["compared_on"]
        if compared > self.today:
            raise ValidationError(_("That day is still to come."), code="to_come")
        return compared

    def confirm(self, ruleset: RuleSet, by, at: datetime) -> int:
        """Keep what was compared; return how many facts are confirmed anew."""
        typed = self.cleaned_data
        return confirm_facts(
            ruleset,
            typed["facts"],
            compared_on=typed["compared_on"],
            compared_with=typed["compared_with"],
            by=by,
            at=at,
        )
