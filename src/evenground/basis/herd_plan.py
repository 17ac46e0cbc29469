"""What the plan says about the herd that eats the crop, and what the crop costs: for feed days and cost of feed."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Said = Annotated[str, Field(max_length=600)]

# Where the loss comes from as long as nobody entered one; it stands for feed in a clamp and not for dry grain.
CLAMP_LOSS_PERCENT = 13.0
CLAMP_SOURCE = "alfalfa in bunkers at 288 kg dry matter/m3 (Ruppel 1992); another crop, a guide only"

# What has to be known of the animals where their intake is reckoned and not entered.
NEEDED = {
    "own_figure": (),
    "dairy": ("body_mass_kg", "milk_kg", "fat_percent", "lactation_week", "feed_share_fraction"),
    "finishing": ("body_mass_kg", "feed_share_fraction"),
}


class HerdSection(Record):
    """Section ``[herd]``: how much of this feed the herd eats; without animals no days of feed are told.

    Attributes
    ----------
    heads : float or None
        Animals fed with this crop [1].
    animals : {"own_figure", "dairy", "finishing"}
        Where their intake comes from: ``intake_kg``, or reckoned for dairy cows or finishing cattle.
    intake_kg : float or None
        Dry matter of this feed one animal eats a day [kg].
    intake_source : str
        Where that comes from.
    body_mass_kg : float or None
        Live mass of one animal [kg].
    milk_kg, fat_percent, lactation_week : float or None
        Milk a day [kg], fat in it [%], week of lactation [1]: herd means.
    feed_share_fraction : float or None
        Share of this feed in all the dry matter they eat [1].
    storage_loss_percent : float
        Dry matter lost in the clamp [%].
    storage_loss_source : str
        Where that comes from.
    storage_loss_sd_points : float
        How far that loss may be off, standard deviation in points [%].
    intake_sd_percent : float
        How far the intake may be off, standard deviation in percent of it [%].
    clamp_density_kg_per_m3 : float or None
        Dry matter in a cubic metre of the clamp [kg/m3]; with it the loss is read from a table instead.
    crop_cost_per_ha : float or None
        All costs of a hectare of the baseline up to the clamp [money/ha]; without it no cost of feed is told.
    """

    heads: Annotated[float, Field(gt=0.0, le=100_000.0)] | None = None
    animals: Literal["own_figure", "dairy", "finishing"] = "own_figure"
    intake_kg: Annotated[float, Field(gt=0.0, le=40.0)] | None = None
    intake_source: Said = ""
    body_mass_kg: Annotated[float, Field(ge=50.0, le=1500.0)] | None = None
    milk_kg: Annotated[float, Field(ge=0.0, le=80.0)] | None = None
    fat_percent: Annotated[float, Field(ge=1.0, le=10.0)] | None = None
    lactation_week: Annotated[float, Field(ge=0.0, le=80.0)] | None = None
    feed_share_fraction: Annotated[float, Field(gt=0.0, le=1.0)] | None = None
    storage_loss_percent: Annotated[float, Field(ge=0.0, le=60.0)] = CLAMP_LOSS_PERCENT
    storage_loss_source: Said = CLAMP_SOURCE
    storage_loss_sd_points: Annotated[float, Field(ge=0.0, le=20.0)] = 3.0
    intake_sd_percent: Annotated[float, Field(ge=0.0, le=50.0)] = 10.0
    clamp_density_kg_per_m3: Annotated[float, Field(ge=160.0, le=352.0)] | None = None
    crop_cost_per_ha: Annotated[float, Field(gt=0.0, le=20_000.0)] | None = None

    @model_validator(mode="after")
    def _one_way_to_the_intake(self) -> Self:
        message = f"{self.animals} is reckoned from this."
        faults = [(n, "", "a value", message) for n in NEEDED[self.animals] if getattr(self, n) is None]
        if self.animals != "own_figure" and self.intake_kg is not None:
            message = "give either your own intake or animals it is reckoned for, not both."
            faults.append(("intake_kg", f"{self.intake_kg:g}", 'no value, or animals = "own_figure"', message))
        if faults:
            raise Contradictions(faults)
        return self
