"""What the plan counts: the product, and the yield, starch or energy of it that decides."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.record import Contradictions, Record

Text = Annotated[str, Field(max_length=80)]

PRODUCT_WORDS = {
    "silage": "dry matter",
    "grain": "grain",
    "corn_cob_mix": "corn-cob mix",
    "whole_cob": "whole-cob silage",
}
# What is harvested, as one says it of a strip.
PRODUCT_NAMES = {**PRODUCT_WORDS, "silage": "silage"}
# What of a dry matter is counted: field of the laboratory's record for it.
LAB_QUANTITY = {"starch": "starch_percent", "energy": "energy_mj_per_kg"}


class OutcomeSection(Record):
    """Section ``[outcome]``: the one main outcome, named before harvest.

    Attributes
    ----------
    product : {"silage", "grain", "corn_cob_mix", "whole_cob"}
        Silage counts as tonnes of dry matter; grain, corn-cob mix and whole cobs as tonnes at the stated moisture.
    counted : {"yield", "starch", "energy"}
        What decides: the yield itself, or the starch or energy in its dry matter by the laboratory's values.
    standard_moisture_percent : float
        Moisture at which they are counted [%].
    expected_t_per_ha : float
        Yield of the product expected before the season [t/ha], used for planning only.
    expected_dry_matter_percent : float
        Dry matter expected at harvest [%], used for planning only.
    sample_sd_points : float
        Sampling error of one dry-matter figure, in points of dry matter [%], where repeats cannot tell.
    scoop_sd_points, drying_sd_points : float
        How far one scoop lies from its load, and drying from the mixed sample, in points of dry matter [%].
    expected_starch_percent : float or None
        Starch expected in the dry matter [%], used for planning only; needed where starch is counted.
    expected_energy_mj_per_kg : float or None
        Energy expected in the dry matter [MJ/kg], used for planning only; needed where energy is counted.
    laboratory, lab_method : str
        Whose values are counted and how they were found; empty where the records hold one laboratory and method.
    energy_system, energy_edition : str
        Whose megajoules are counted, as the laboratory names them; needed where energy is counted.
    starch_sd_points, energy_sd_mj_per_kg : float
        How far one laboratory value may be off, standard deviation [%; MJ/kg], where repeats cannot tell.
    """

    product: Literal["silage", "grain", "corn_cob_mix", "whole_cob"] = "silage"
    counted: Literal["yield", "starch", "energy"] = "yield"
    standard_moisture_percent: Annotated[float, Field(ge=0.0, le=70.0)] = 15.0
    expected_t_per_ha: Annotated[float, Field(gt=0.5, le=40.0)] = 13.0
    expected_dry_matter_percent: Annotated[float, Field(ge=15.0, le=95.0)] = 33.0
    sample_sd_points: Annotated[float, Field(ge=0.0, le=10.0)] = 1.0
    scoop_sd_points: Annotated[float, Field(ge=0.0, le=15.0)] = 2.0
    drying_sd_points: Annotated[float, Field(ge=0.0, le=10.0)] = 0.3
    expected_starch_percent: Annotated[float, Field(gt=0.0, le=90.0)] | None = None
    expected_energy_mj_per_kg: Annotated[float, Field(ge=3.0, le=20.0)] | None = None
    laboratory: Text = ""
    lab_method: Text = ""
    energy_system: Text = ""
    energy_edition: Text = ""
    starch_sd_points: Annotated[float, Field(ge=0.0, le=15.0)] = 2.0
    energy_sd_mj_per_kg: Annotated[float, Field(ge=0.0, le=2.0)] = 0.1

    @model_validator(mode="after")
    def _complete(self) -> Self:
        needed = {
            "yield": (),
            "starch": ("expected_starch_percent",),
            "energy": ("expected_energy_mj_per_kg", "energy_system", "energy_edition"),
        }[self.counted]
        absent = [name for name in needed if not getattr(self, name)]
        if absent:
            message = f"{self.counted} is counted, so this has to be said before the harvest."
            raise Contradictions([(name, "", "a value", message) for name in absent])
        return self

    @property
    def amount(self) -> str:
        """What the outcome is counted in: "t", or "GJ" for energy."""
        return "GJ" if self.counted == "energy" else "t"

    @property
    def amount_words(self) -> str:
        """The same in words, for a sentence: "tonne" or "gigajoule"."""
        return "gigajoule" if self.counted == "energy" else "tonne"

    @property
    def what(self) -> str:
        """What is counted, in words: "dry matter", "grain", "starch" or "energy"."""
        return PRODUCT_WORDS[self.product] if self.counted == "yield" else self.counted

    @property
    def yield_unit(self) -> str:
        """Unit of the product's yield, in words for a screen."""
        if self.product == "silage":
            return "t dry matter/ha"
        return f"t {PRODUCT_WORDS[self.product]}/ha at {self.standard_moisture_percent:g} % moisture"

    @property
    def unit(self) -> str:
        """Unit of the outcome, in words for a screen; the energy system and its edition are part of it."""
        if self.counted == "energy":
            return f"GJ/ha ({self.energy_system}, {self.energy_edition})"
        return "t starch/ha" if self.counted == "starch" else self.yield_unit

    @property
    def dry_share(self) -> float:
        """Dry matter in one tonne of the product as counted [t/t]."""
        return 1.0 if self.product == "silage" else 1.0 - self.standard_moisture_percent / 100.0

    @property
    def expected_content(self) -> float:
        """What is counted, expected in one tonne of the product [t/t or GJ/t]; 1 where the yield itself counts."""
        if self.counted == "yield":
            return 1.0
        if self.counted == "starch":
            return self.dry_share * (self.expected_starch_percent or 0.0) / 100.0
        return self.dry_share * (self.expected_energy_mj_per_kg or 0.0)

    @property
    def expected(self) -> float:
        """Outcome expected before the season, in its own unit [t/ha or GJ/ha]."""
        return self.expected_t_per_ha * self.expected_content

    @property
    def content_error_percent(self) -> float:
        """How far one laboratory value may be off, in percent of the outcome [%]; 0 where the yield counts."""
        if self.counted == "starch":
            return 100.0 * self.starch_sd_points / (self.expected_starch_percent or 1.0)
        if self.counted == "energy":
            return 100.0 * self.energy_sd_mj_per_kg / (self.expected_energy_mj_per_kg or 1.0)
        return 0.0
