"""What is stored. Plans, draws and records are canonical text plus indexed columns; nothing is changed in place."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class Farm(models.Model):
    """A farm: its trials, and what is kept from year to year (the latest plan of any of its trials)."""

    name = models.CharField(max_length=120)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class Door(models.TextChoices):
    """How a trial came here; a trial that came by the last two was never randomised unless its draw is on record."""

    PLANNED = "planned", _("I am planning")
    SOWN = "sown", _("It is already sown")
    WEIGHTS = "weights", _("I only have weights")


class Trial(models.Model):
    """One comparison in one field in one season."""

    farm = models.ForeignKey(Farm, on_delete=models.PROTECT, related_name="trials")
    slug = models.SlugField(max_length=80, unique=True)
    name = models.CharField(max_length=200)
    season = models.PositiveSmallIntegerField()
    door = models.CharField(max_length=8, choices=Door.choices, default=Door.PLANNED)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    put_away_at = models.DateTimeField(null=True, blank=True)
    grown_from = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="next_years")

    def __str__(self) -> str:
        """Return its name and year."""
        return f"{self.name} ({self.season})"


class PlanVersion(models.Model):
    """The text of the plan (TOML, with its comments) as it was saved."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="plans")
    number = models.PositiveIntegerField()
    text = models.TextField()
    plan_hash = models.CharField(max_length=64)
    saved_at = models.DateTimeField(default=timezone.now, editable=False)
    saved_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        """Versions count from 1."""

        ordering: ClassVar = ["number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "number"], name="plan_version")]


class FieldVersion(models.Model):
    """The field with its obstacles and layers as GeoJSON text (`field.geojson`), as it was saved."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="fields")
    number = models.PositiveIntegerField()
    text = models.TextField()
    saved_at = models.DateTimeField(default=timezone.now, editable=False)
    saved_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        """Versions count from 1."""

        ordering: ClassVar = ["number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "number"], name="field_version")]


class DrawVersion(models.Model):
    """One draw, as the GeoJSON text of `strips.geojson` up to and with it."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="draws")
    number = models.PositiveIntegerField()
    text = models.TextField()
    drawn_at = models.DateTimeField()
    saved_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        """Draws count from 1."""

        ordering: ClassVar = ["number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "number"], name="draw_version")]


class StoredRecord(models.Model):
    """One record: its canonical text, and columns to find it by. Never changed; corrections name what they replace."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="records")
    kind = models.CharField(max_length=40)
    record_id = models.CharField(max_length=80)
    replaces = models.CharField(max_length=80, blank=True)
    text = models.TextField()
    seen_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField(default=timezone.now, editable=False)
    received_from = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    device = models.CharField(max_length=80, blank=True)

    class Meta:
        """Sending a record twice stores it once."""

        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "kind", "record_id"], name="record_once")]
        indexes: ClassVar = [models.Index(fields=["trial", "kind"])]


class HeldEntry(models.Model):
    """An entry from a phone that could not become a record yet: kept as it came, with what is wrong, until mended."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="held")
    kind = models.CharField(max_length=40)
    record_id = models.CharField(max_length=80)
    content_hash = models.CharField(max_length=64, blank=True)
    text = models.TextField()
    problems = models.JSONField(default=list)
    received_at = models.DateTimeField(default=timezone.now, editable=False)
    received_from = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    device = models.CharField(max_length=80, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Sending an entry twice holds it once; one id with two contents is held twice, so that neither is lost."""

        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["trial", "kind", "record_id", "content_hash"], name="held_once")
        ]


class TrialFile(models.Model):
    """Any other file of the trial folder, byte for byte: earlier yields, notes, photographs, agreements."""

    trial = models.ForeignKey(Trial, on_delete=models.CASCADE, related_name="files")
    path = models.CharField(max_length=200)
    content = models.BinaryField()
    saved_at = models.DateTimeField(auto_now=True)

    class Meta:
        """One file a path."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["trial", "path"], name="file_once")]
