"""Forms of people."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from evenground.web.accounts.models import Role, User
from evenground.web.trials.models import Farm, Trial

ISO_DAY = "%Y-%m-%d"
ON_FARM = (Role.OWNER, Role.ADVISER)


class AcceptForm(forms.Form):
    """A new person's name and password."""

    name = forms.CharField(label=_("Your name"), max_length=150)
    password = forms.CharField(
        label=_("Password"),
        help_text=_("At least 10 signs; a few words you can remember are good."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        max_length=200,
    )


class InviteForm(forms.Form):
    """Whom to invite to what."""

    label = forms.CharField(label=_("Who is it for"), max_length=80)
    # The smallest role that is of use comes first: a role overlooked must not give away the farm.
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.HELPER)
    trial = forms.ModelChoiceField(
        label=_("Trial, for helpers and viewers"),
        queryset=Trial.objects.none(),
        required=False,
        empty_label=_("no trial"),
        help_text=_("They see this one trial."),
    )
    farm = forms.ModelChoiceField(
        label=_("Farm, for owners and advisers"),
        queryset=Farm.objects.none(),
        required=False,
        empty_label=_("no farm"),
        help_text=_("They see all trials of the farm."),
    )

    def __init__(self, user: User, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own arguments
        super().__init__(*args, **kwargs)
        owned = Farm.objects.filter(memberships__user=user, memberships__role=Role.OWNER)
        shown = Trial.objects.filter(farm__in=owned).order_by("-season", "name")
        self.fields["farm"].queryset = owned  # type: ignore[attr-defined]
        self.fields["trial"].queryset = shown  # type: ignore[attr-defined]
        self.fields["farm"].initial = owned.first()
        self.fields["trial"].initial = shown.filter(put_away_at=None).first()

    def clean(self) -> dict[str, Any]:
        """Ask for the farm or the trial, as the role needs."""
        data = super().clean() or self.cleaned_data
        role = data.get("role")
        if role in ON_FARM and not data.get("farm"):
            self.add_error("farm", _("Owners and advisers belong to a farm; choose it."))
        if role and role not in ON_FARM and not data.get("trial"):
            self.add_error("trial", _("Helpers and viewers belong to a trial; choose it."))
        return data


class DayLinkForm(forms.Form):
    """A link for a driver or the weighbridge."""

    label = forms.CharField(label=_("Who is it for"), max_length=80, help_text=_("Such as: driver, weighbridge."))
    valid_on = forms.DateField(
        label=_("Day"),
        help_text=_("The link works on this day only."),
        # A control for days takes and sends this form alone, whatever the language; in another one it stays empty.
        widget=forms.DateInput(format=ISO_DAY, attrs={"type": "date"}),
        input_formats=[ISO_DAY],
        initial=timezone.localdate,
    )


class CodeForm(forms.Form):
    """The code a phone is paired with."""

    code = forms.CharField(
        label=_("Code"), max_length=20, widget=forms.TextInput(attrs={"autocapitalize": "characters"})
    )
