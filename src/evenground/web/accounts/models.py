"""People, and what has been shared with whom."""

from __future__ import annotations

from typing import ClassVar

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _


class User(AbstractUser):
    """A person with an account; on a machine of one's own the one person there needs none (`local`)."""

    local = models.BooleanField(default=False, help_text="The person at this machine, signed in without a password.")
    language = models.CharField(max_length=8, blank=True)


class Role(models.TextChoices):
    """What somebody is on a farm or in a trial; see `access.RIGHTS`."""

    OWNER = "owner", _("owner")
    ADVISER = "adviser", _("adviser")
    HELPER = "helper", _("helper who records")
    VIEWER = "viewer", _("viewer")


class Membership(models.Model):
    """Somebody's role on a whole farm: owners and advisers see all its trials."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    farm = models.ForeignKey("trials.Farm", on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=8, choices=Role.choices)

    class Meta:
        """One role a person and farm."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["user", "farm"], name="one_role_a_farm")]


class Share(models.Model):
    """Somebody's role in one trial."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="shares")
    trial = models.ForeignKey("trials.Trial", on_delete=models.CASCADE, related_name="shares")
    role = models.CharField(max_length=8, choices=Role.choices)

    class Meta:
        """One role a person and trial."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["user", "trial"], name="one_role_a_trial")]


class DayLink(models.Model):
    """A link for a driver or a weighbridge: one trial, one day, only loads, weighings and as-sown events.

    Only the hash of the link's secret is kept.
    """

    trial = models.ForeignKey("trials.Trial", on_delete=models.CASCADE, related_name="day_links")
    label = models.CharField(max_length=80)
    secret_hash = models.CharField(max_length=64, unique=True)
    valid_on = models.DateField()
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)


class PairingCode(models.Model):
    """A one-time code that signs a phone in; only its hash is kept, and it lives for minutes."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="pairing_codes")
    code_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)


class Invitation(models.Model):
    """A link that lets somebody in once: a new person with a role, or a known one who sets a password anew.

    Only the hash of the link's secret is kept.
    """

    secret_hash = models.CharField(max_length=64, unique=True)
    label = models.CharField(max_length=80, blank=True)
    user = models.ForeignKey(User, on_delete=models.CASCADE, null=True, blank=True, related_name="invitations")
    farm = models.ForeignKey("trials.Farm", on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    trial = models.ForeignKey("trials.Trial", on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    role = models.CharField(max_length=8, choices=Role.choices, blank=True)
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)


class LoginFailure(models.Model):
    """A login that failed, so that the next ones can be slowed down."""

    name = models.CharField(max_length=150, db_index=True)
    address = models.CharField(max_length=45, db_index=True)
    at = models.DateTimeField(auto_now_add=True, db_index=True)
