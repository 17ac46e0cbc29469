"""Forms of the way in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from evenground.web.accounts.models import Role, User
from evenground.web.trials.models import Door, Farm

FIRST_MONTH_FOR_NEXT_YEAR = 10
MAY_PLAN = (Role.OWNER, Role.ADVISER)


def farms_planned(user: User) -> QuerySet[Farm]:
    """Return the farms a person may start trials on."""
    return Farm.objects.filter(memberships__user=user, memberships__role__in=MAY_PLAN).distinct().order_by("name")


class NewTrialForm(forms.Form):
    """A name and a year; the farm is made where there is none."""

    name = forms.CharField(label=_("What do you call the trial"), max_length=80)
    season = forms.IntegerField(label=_("Year of harvest"), min_value=1990, max_value=2100)
    farm = forms.ModelChoiceField(label=_("Farm"), queryset=Farm.objects.none(), required=False)
    new_farm = forms.CharField(label=_("Or a new farm"), max_length=120, required=False)

    def __init__(self, user: User, data: Mapping[str, Any] | None = None, *, door: str = Door.PLANNED) -> None:
        super().__init__(data)
        farms = farms_planned(user)
        self.fields["farm"].queryset = farms  # type: ignore[attr-defined]
        today = timezone.localdate()
        # From October on one plans for the next year; what is sown or weighed already is of this one. Judgement.
        ahead = door == Door.PLANNED and today.month >= FIRST_MONTH_FOR_NEXT_YEAR
        self.fields["season"].initial = today.year + ahead
        if first := farms.first():
            self.fields["farm"].initial = first.pk
        else:
            self.fields["new_farm"].label = _("What is the farm called")
            self.fields["new_farm"].required = True
            del self.fields["farm"]

    def clean(self) -> dict[str, Any]:
        """Ask for a farm."""
        data = super().clean() or self.cleaned_data
        if not data.get("farm") and not data.get("new_farm"):
            self.add_error("new_farm", _("Choose a farm, or name a new one."))
        return data
