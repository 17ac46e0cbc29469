"""What a tonne of silage is worth, from what it replaces; helps to fill in the two values of the plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SilageWorth:
    """What silage is worth as the feeds it replaces.

    Attributes
    ----------
    grain, rough : float
        Part of the grain and of the rough feed in a tonne of dry matter [money/t].
    per_t_dry : float
        Both together [money/t dry matter].
    per_t_fed : float
        A tonne as fed [money/t].
    standing_per_t_fed, standing_per_t_dry : float
        The same before it is cut: less what is lost, and what carrying and clamping cost [money/t; money/t dry matter].
    """

    grain: float
    rough: float
    per_t_dry: float
    per_t_fed: float
    standing_per_t_fed: float
    standing_per_t_dry: float


@dataclass(frozen=True)
class BoughtFeed:
    """A feed that silage replaces.

    Attributes
    ----------
    price : float
        Of a tonne as bought [money/t].
    dry_matter_percent : float
        Dry matter in it [%].
    """

    price: float
    dry_matter_percent: float

    @property
    def per_t_dry(self) -> float:
        """Price of a tonne of dry matter [money/t]."""
        return dry_matter_value(self.price, self.dry_matter_percent / 100.0)


def silage_worth(
    grain: BoughtFeed,
    rough: BoughtFeed,
    grain_share: float,
    dry_matter_percent: float,
    lost_share: float = 0.0,
    carrying_per_t: float = 0.0,
) -> SilageWorth:
    """Say what silage is worth as the grain and the rough feed it replaces.

    Parameters
    ----------
    grain, rough : BoughtFeed
        What they cost in such a year.
    grain_share : float
        Share of grain in the dry matter of the silage, 0 to 1 [1].
    dry_matter_percent : float
        Dry matter of the silage [%].
    lost_share : float
        Share lost in chopping and in the clamp, 0 to 1 [1].
    carrying_per_t : float
        Chopping, carrying and clamping a tonne as fed [money/t].

    Raises
    ------
    ValueError
        If a share is not between 0 and 1, or a dry matter not above zero.

    Source: North Dakota State University Extension EC1343 for the parts; a buyer's limit for drought maize, Aberdeen
    News, 24 August 2012, for loss and carrying.
    """
    whole = silage_value(1.0, grain_share, grain.per_t_dry, rough.per_t_dry)
    grown = silage_value(1.0, grain_share, grain.per_t_dry, 0.0)
    fed = whole * dry_matter_percent / 100.0
    standing = buyers_limit(fed, lost_share, carrying_per_t)
    dry = dry_matter_value(standing, dry_matter_percent / 100.0)
    return SilageWorth(grown, whole - grown, whole, fed, standing, dry)


def dry_matter_value(price: float, dry_matter: float) -> float:
    """Turn a price per mass as bought into a price per mass of dry matter [money per mass of dry matter].

    Parameters
    ----------
    price : float
        Price of one mass unit as bought [money].
    dry_matter : float
        Dry matter in that unit [fraction, or mass per unit].

    Raises
    ------
    ValueError
        If the dry matter is not above zero.
    """
    if not dry_matter > 0.0:
        raise ValueError(f"dry matter must be above 0, not {dry_matter}")
    return price / dry_matter


def silage_value(dry_matter: float, grain_share: float, grain_value: float, rest_value: float) -> float:
    """Say what a unit of silage is worth as the grain and the rough feed it holds [money per unit].

    Parameters
    ----------
    dry_matter : float
        Dry matter in one unit [mass].
    grain_share : float
        Share of grain in the dry matter, 0 to 1 [1].
    grain_value, rest_value : float
        Worth of one mass of dry matter as grain and as rough feed [money].

    Raises
    ------
    ValueError
        If the share is not between 0 and 1.

    Source: North Dakota State University Extension EC1343.
    """
    if not 0.0 <= grain_share <= 1.0:
        raise ValueError(f"the share of grain lies between 0 and 1, not {grain_share}")
    return dry_matter * (grain_share * grain_value + (1.0 - grain_share) * rest_value)


def price_at_dry_matter(price: float, dry_matter_percent: float, standard_percent: float) -> float:
    """Turn a price agreed at one dry matter into the price at another [money per unit as fed].

    Parameters
    ----------
    price : float
        Price at the standard [money].
    dry_matter_percent, standard_percent : float
        Dry matter as delivered and as agreed [%].

    Source: University of California Cooperative Extension; Iowa State University A1-65 uses the same proportion.

    Examples
    --------
    >>> price_at_dry_matter(75.0, 28.0, 30.0)
    70.0
    """
    return dry_matter_value(price, standard_percent) * dry_matter_percent


def buyers_limit(hay_price: float, loss_share: float, hauling: float) -> float:
    """Say what a buyer can pay at most for a tonne of standing drought maize [money per unit as fed].

    Parameters
    ----------
    hay_price : float
        What the same feed costs otherwise, per unit of silage as fed [money].
    loss_share : float
        Share lost in chopping and in the clamp, 0 to 1 [1].
    hauling : float
        Chopping, carrying and clamping one unit [money].

    Raises
    ------
    ValueError
        If the share is not between 0 and 1.

    Source: buyer's side of a drought-maize example, Aberdeen News, 24 August 2012.
    """
    if not 0.0 <= loss_share <= 1.0:
        raise ValueError(f"the share lost lies between 0 and 1, not {loss_share}")
    return hay_price * (1.0 - loss_share) - hauling


def sellers_limit(grain_income: float, nutrient_value: float, saved_cost: float, silage_yield: float) -> float:
    """Say what a seller must get at least for a tonne of standing drought maize [money per unit as fed].

    Parameters
    ----------
    grain_income : float
        What the grain would bring, per area [money].
    nutrient_value : float
        Worth of the nutrients that leave with one unit of silage [money].
    saved_cost : float
        Cost of combining and carrying grain that is saved, per area [money].
    silage_yield : float
        Units of silage per area, above zero [1].

    Raises
    ------
    ValueError
        If the yield is not above zero.

    Source: seller's side of the same example.
    """
    if not silage_yield > 0.0:
        raise ValueError(f"the silage yield must be above 0, not {silage_yield}")
    return (grain_income + nutrient_value * silage_yield - saved_cost) / silage_yield
