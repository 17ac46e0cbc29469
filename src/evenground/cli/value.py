"""Say what a tonne of silage is worth as the grain and rough feed it replaces; for the two values of the plan.

Ask once with the prices of a year short of feed and once with those of a year with enough.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from evenground.basis.errors import InputError, problem
from evenground.cli.output import print_json
from evenground.decide.feed_value import BoughtFeed, SilageWorth, silage_worth

KEYS = (
    "In the plan: value_short_year_per_t with the prices of a year short of feed, value_full_year_per_t with those of "
    "a year with enough; both before what harvest_cost_per_t_fresh already takes off."
)


def run(
    grain_price: Annotated[float, typer.Option(min=0.0, help="Grain, as bought [money/t].")],
    rough_price: Annotated[float, typer.Option(min=0.0, help="Hay, straw or other rough feed, as bought [money/t].")],
    grain_share: Annotated[float, typer.Option(min=0.0, max=1.0, help="Grain in the silage's dry matter [0 to 1].")],
    grain_dry_matter_percent: Annotated[float, typer.Option(help="Dry matter of the grain [%].")] = 87.0,
    rough_dry_matter_percent: Annotated[float, typer.Option(help="Dry matter of the rough feed [%].")] = 90.0,
    dry_matter_percent: Annotated[float, typer.Option(help="Dry matter of the silage [%].")] = 33.0,
    lost_percent: Annotated[float, typer.Option(min=0.0, max=100.0, help="Lost in chopping and the clamp [%].")] = 0.0,
    carrying_per_t: Annotated[float, typer.Option(min=0.0, help="Chopping, carrying, clamping a tonne [money/t].")] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    moist = {
        "grain-dry-matter-percent": grain_dry_matter_percent,
        "rough-dry-matter-percent": rough_dry_matter_percent,
        "dry-matter-percent": dry_matter_percent,
    }
    faults = [
        problem("this is no dry matter.", field=f"--{name}", given=f"{given:g}", allowed="above 0, up to 100 %")
        for name, given in moist.items()
        if not 0.0 < given <= 100.0
    ]
    if faults:
        raise InputError(faults)
    found = silage_worth(
        BoughtFeed(grain_price, grain_dry_matter_percent),
        BoughtFeed(rough_price, rough_dry_matter_percent),
        grain_share,
        dry_matter_percent,
        lost_percent / 100.0,
        carrying_per_t,
    )
    if as_json:
        print_json(asdict(found))
    else:
        typer.echo(in_words(found, dry_matter_percent))


def in_words(found: SilageWorth, dry_matter_percent: float) -> str:
    """Say it in plain words."""
    return "\n".join(
        [
            f"A tonne of dry matter replaces grain for {found.grain:.2f} and rough feed for {found.rough:.2f}: "
            f"{found.per_t_dry:.2f} together.",
            f"That is {found.per_t_fed:.2f} a tonne as fed, at {dry_matter_percent:g} % dry matter.",
            f"Standing in the field, after losses and carrying: {found.standing_per_t_fed:.2f} a tonne as fed, "
            f"{found.standing_per_t_dry:.2f} a tonne of dry matter.",
            KEYS,
        ]
    )
