"""What the plan says about seed, soil, starter and the answers of the people before the draw."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.days import said_day
from evenground.basis.method import Letter
from evenground.basis.record import Contradictions, Record

Said = Annotated[str, Field(max_length=600)]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Percent = Annotated[float, Field(ge=0.0, le=100.0)]
KernelWeight = Annotated[float, Field(ge=100.0, le=600.0)]
Role = Literal["driver", "seller", "lender", "other"]
Soil = Literal["sandy", "medium", "heavy"]

# The customary bushel of maize, 56 lb in 2150.42 cubic inches, is 0.721 kg/l.
MAIZE_KG_PER_L = 0.72


class SeedLot(Record):
    """One lot of seed, section ``[[seed.lots]]``.

    Attributes
    ----------
    lot : str
        What stands on the label.
    methods : tuple of str
        Letters of the methods it is sown with; empty for all. Every lot must go to every method.
    thousand_kernel_weight_g : float or None
        Weight of 1000 kernels of this lot, where it is not that of the section [g].
    """

    lot: Name
    methods: tuple[Letter, ...] = ()
    thousand_kernel_weight_g: KernelWeight | None = None


class SeedSection(Record):
    """Section ``[seed]``: what is in the bags; one seed for all methods.

    Attributes
    ----------
    thousand_kernel_weight_g : float or None
        Weight of 1000 kernels, from the label [g].
    bulk_density_kg_per_l : float
        What a litre of seed weighs [kg/l]; the default is the customary bushel of maize, 56 lb in 2150.42 cubic inches.
    reserve_percent : float
        Seed bought beyond what the strips take [%]; 5 is common practice, no source.
    lots : tuple of SeedLot
        Lots by name; as many as ``trial.seed_lots`` says.
    """

    thousand_kernel_weight_g: KernelWeight | None = None
    bulk_density_kg_per_l: Annotated[float, Field(ge=0.4, le=1.2)] = MAIZE_KG_PER_L
    reserve_percent: Percent = 5.0
    lots: Annotated[tuple[SeedLot, ...], Field(max_length=9)] = ()


class StarterSection(Record):
    """Section ``[starter]``: the fertiliser in the band; how much of it each method gets stands with the method.

    Attributes
    ----------
    product : str
        What stands on the label.
    nitrogen_percent, potash_percent : float or None
        N and K2O, of the product [%].
    urea : bool
        Whether part of its nitrogen is urea (urea, UAN).
    bulk_density_kg_per_l : float
        What a litre of it weighs [kg/l]; 1.0 is common practice, no source.
    reserve_percent : float
        Bought beyond what the strips take [%]; 5 is common practice, no source.
    """

    product: Said = ""
    nitrogen_percent: Percent | None = None
    potash_percent: Percent | None = None
    urea: bool = False
    bulk_density_kg_per_l: Annotated[float, Field(ge=0.3, le=2.5)] = 1.0
    reserve_percent: Percent = 5.0

    @model_validator(mode="after")
    def _shares_fit(self) -> Self:
        together = (self.nitrogen_percent or 0.0) + (self.potash_percent or 0.0)
        if together > 100.0:
            message = "nitrogen and potash together are more than the product."
            raise Contradictions([("potash_percent", f"{together:g}", "at most 100 with nitrogen_percent", message)])
        return self


class SowingSection(Record):
    """Section ``[sowing]``: the soil on the day, and the pace.

    Attributes
    ----------
    soil : {"sandy", "medium", "heavy"} or None
        Soil of the strips; None is said as "not said" and taken as the most delicate.
    moist_from_cm : float or None
        Depth from which the soil is moist [cm].
    soil_temperature_c : float or None
        Soil temperature at seed depth before sowing [deg C].
    soil_temperature_source : str
        Who measured it, with what, when.
    efficiency_fraction : float
        Share of the time in the field really spent sowing [1]; 0.60 is a published rule of thumb for planters that need
        tending (Progressive Forage, "Farm field equipment efficiency versus capacity"), not measured on short strips.
    """

    soil: Soil | None = None
    moist_from_cm: Annotated[float, Field(ge=0.0, le=30.0)] | None = None
    soil_temperature_c: Annotated[float, Field(ge=-10.0, le=45.0)] | None = None
    soil_temperature_source: Said = ""
    efficiency_fraction: Annotated[float, Field(gt=0.05, le=1.0)] = 0.60


class Agreement(Record):
    """What one person said to the settings before the draw, section ``[[people.agreements]]``.

    Attributes
    ----------
    who : str
        As they want to be called in the report; a role will do.
    role : {"driver", "seller", "lender", "other"}
        Drives a planter, sells or lends a method, or something else.
    methods : tuple of str
        Letters of the methods spoken about; empty for all.
    agrees : bool
        True: agrees to the settings; false: objects.
    words : str
        What was said.
    said_on : date or None
        When.
    """

    who: Name
    role: Role
    methods: tuple[Letter, ...] = ()
    agrees: bool
    words: Said = ""
    said_on: date | None = None

    @property
    def sentence(self) -> str:
        """One plain sentence.

        Examples
        --------
        >>> Agreement(who="Driver of the planter", role="driver", agrees=True, words="5 cm is right here").sentence
        'Driver of the planter (driver): agrees; "5 cm is right here".'
        """
        about = f", method{'s' if len(self.methods) > 1 else ''} {' and '.join(self.methods)}" if self.methods else ""
        when = f" on {said_day(self.said_on)}" if self.said_on else ""
        words = f'; "{self.words}"' if self.words else ""
        return f"{self.who} ({self.role}{about}): {'agrees' if self.agrees else 'OBJECTS'}{when}{words}."


def lot_faults(seed: SeedSection, letters: tuple[str, ...], counted: int) -> list[tuple[str, str, str, str]]:
    """List what is wrong with the seed lots, as field, given, allowed, message.

    Parameters
    ----------
    seed : SeedSection
        Lots by name.
    letters : tuple of str
        Letters of all methods.
    counted : int
        Lots according to ``trial.seed_lots`` [1].
    """
    faults = []
    if seed.lots and len(seed.lots) != counted:
        message = f"[seed] names {len(seed.lots)} lots and trial.seed_lots says {counted}."
        faults.append(("trial.seed_lots", f"{counted}", f"{len(seed.lots)}", message))
    names = [lot.lot for lot in seed.lots]
    for i, lot in enumerate(seed.lots):
        missing = [letter for letter in letters if lot.methods and letter not in lot.methods]
        given, where = " ".join(lot.methods), f"seed.lots[{i}]"
        if missing:
            message = f"this lot would not go to {' and '.join(missing)}: the trial would then compare lots."
            faults.append((f"{where}.methods", given, f"all of {', '.join(letters)}", message))
        if names.index(lot.lot) != i:
            faults.append((f"{where}.lot", lot.lot, "each lot once", "this lot is named twice."))
        faults += letter_faults(lot.methods, letters, f"{where}.methods")
    return faults


def letter_faults(given: tuple[str, ...], letters: tuple[str, ...], field: str) -> list[tuple[str, str, str, str]]:
    """List letters that are no method of the plan, as field, given, allowed, message.

    Parameters
    ----------
    given : tuple of str
        Letters named.
    letters : tuple of str
        Letters of all methods.
    field : str
        Where they stand.
    """
    allowed = "one of " + ", ".join(letters)
    return [(field, letter, allowed, "there is no such method.") for letter in given if letter not in letters]
