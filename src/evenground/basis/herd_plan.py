"""What the plan says about the herd that eats the crop, and what the crop costs: for feed days and cost of feed."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from evenground.basis.record import Record

Said = Annotated[str, Field(max_length=600)]


class HerdSection(Record):
    """Section ``[herd]``: how much of this feed the herd eats; without animals no days of feed are told.

    Attributes
    ----------
    heads : float or None
        Animals fed with this crop [1].
    intake_kg : float or None
        Dry matter of this feed one animal eats a day [kg].
    intake_source : str
        Where that comes from.
    storage_loss_percent : float
        Dry matter lost in the clamp [%].
    storage_loss_source : str
        Where that comes from.
    crop_cost_per_ha : float or None
        All costs of a hectare of the baseline up to the clamp [money/ha]; without it no cost of feed is told.
    """

    heads: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    intake_kg: Annotated[float, Field(gt=0.0, le=40.0)] | None = None
    intake_source: Said = ""
    storage_loss_percent: Annotated[float, Field(ge=0.0, le=60.0)] = 13.0
    storage_loss_source: Said = "alfalfa in bunkers at 288 kg dry matter/m3 (Ruppel 1992); another crop, a guide only"
    crop_cost_per_ha: Annotated[float, Field(gt=0.0, le=20_000.0)] | None = None
