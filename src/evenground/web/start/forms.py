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
from evenground.web.trials.parsed import plan_of
from evenground.web.trials.store import DatabaseStore

FIRST_MONTH_FOR_NEXT_YEAR = 10
MAY_PLAN = (Role.OWNER, Role.ADVISER)


def farms_planned(user: User) -> QuerySet[Farm]:
    """Return the farms a person may start trials on."""
    return Farm.objects.filter(memberships__user=user, memberships__role__in=MAY_PLAN).distinct().order_by("name")


def all_invented(farm: Farm) -> bool:
    """Say whether a farm holds made-up trials only: nobody's own trial is put there unasked."""
    plans = [plan_of(DatabaseStore(t).plan_text()).plan for t in farm.trials.all()[:5]]
    return bool(plans) and all(p is not None and p.trial.invented for p in plans)


class NewTrialForm(forms.Form):
    """A name and a year; the farm is made where there is none."""

    name = forms.CharField(label=_("What do you call the trial"), max_length=80)
    season = forms.IntegerField(label=_("Year of harvest"), min_value=1990, max_value=2100)
    farm = forms.ModelChoiceField(
        label=_("Farm"), queryset=Farm.objects.none(), required=False, empty_label=_("a new farm, named below")
    )
    new_farm = forms.CharField(label=_("Or a new farm"), max_length=120, required=False)

    def __init__(self, user: User, data: Mapping[str, Any] | None = None, *, door: str = Door.PLANNED) -> None:
        super().__init__(data)
        farms = farms_planned(user)
        self.fields["farm"].queryset = farms  # type: ignore[attr-defined]
        today = timezone.localdate()
        # From October on one plans for the next year; what is sown or weighed already is of this one. Judgement.
        ahead = door == Door.PLANNED and today.month >= FIRST_MONTH_FOR_NEXT_YEAR
        self.fields["season"].initial = today.year + ahead
        real = [f for f in farms if not all_invented(f)]
        if real:
            self.fields["farm"].initial = real[0].pk
            self.fields["new_farm"].label = _("Or a new farm")
        elif farms:
            self.fields["new_farm"].label = _("What is your farm called")
        else:
            self.fields["new_farm"].label = _("What is the farm called")
            self.fields["new_farm"].required = True
            del self.fields["farm"]

    def clean(self) -> dict[str, Any]:
        """Ask for a farm."""
        data = super().clean() or self.cleaned_data
        if data.get("farm") and data.get("new_farm"):
            data["farm"] = None
        if not data.get("farm") and not data.get("new_farm"):
            self.add_error("new_farm", _("Choose a farm, or name a new one."))
        return data
