"""From fresh mass, dry matter and ground to the outcome per hectare."""

from __future__ import annotations

from evenground.basis.outcome_plan import OutcomeSection

M2_PER_HA = 10_000.0


def at_standard_moisture(fresh: float, dry_matter_fraction: float, standard_moisture_percent: float) -> float:
    """Say how much grain this is at a stated moisture [unit of ``fresh``].

    Parameters
    ----------
    fresh : float
        Mass as weighed [any unit].
    dry_matter_fraction : float
        Dry matter per fresh matter [kg/kg]; 1 minus the moisture fraction.
    standard_moisture_percent : float
        Moisture at which grain is counted [%].

    Source: dry matter stays the same, wet x (100 - M1) / (100 - M2); any grain trade table.

    Examples
    --------
    >>> round(at_standard_moisture(1000.0, 0.745, 15.5), 1)
    881.7
    """
    return fresh * dry_matter_fraction / (1.0 - standard_moisture_percent / 100.0)


def outcome_per_fresh(dry_matter_fraction: float, outcome: OutcomeSection) -> float:
    """Say how many tonnes of the product as counted one tonne of fresh matter is [t/t].

    Silage counts as dry matter, grain at the stated moisture.
    """
    if outcome.product == "silage":
        return dry_matter_fraction
    return at_standard_moisture(1.0, dry_matter_fraction, outcome.standard_moisture_percent)


def outcome_t_per_ha(fresh_t: float, dry_matter_fraction: float, cut_area_m2: float, outcome: OutcomeSection) -> float:
    """Say what came off a hectare [t/ha of the product as counted].

    Parameters
    ----------
    fresh_t : float
        Fresh mass of the weighed cut [t].
    dry_matter_fraction : float
        Dry matter per fresh matter [kg/kg].
    cut_area_m2 : float
        Ground it came from [m2].
    outcome : OutcomeSection
        Silage or grain, and the grain's standard moisture.

    Raises
    ------
    ValueError
        If the ground is not above zero.

    Source: dry matter per hectare = fresh mass x dry matter share / area; University of California Cooperative
    Extension for the silage form.
    """
    if not cut_area_m2 > 0.0:
        raise ValueError(f"the area of the weighed cut must be above 0 m2, not {cut_area_m2}")
    return fresh_t * outcome_per_fresh(dry_matter_fraction, outcome) / (cut_area_m2 / M2_PER_HA)
