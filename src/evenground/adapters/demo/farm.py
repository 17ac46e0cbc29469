"""The files of the invented demo farm as text."""

from __future__ import annotations

from importlib.resources import files

_HERE = files(__package__)
TRIAL_TOML = (_HERE / "trial.toml").read_text(encoding="utf-8")
FIELD_GEOJSON = (_HERE / "field.geojson").read_text(encoding="utf-8")
