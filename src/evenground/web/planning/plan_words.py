"""What the keys, sections and lists of the plan are called on a page; a key not listed here speaks for itself."""

from __future__ import annotations

import re

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from evenground.web.record_words import UNITS, field_words, suffix_of

Words = str | Promise

LABELS: dict[str, Words] = {
    "trial.name": _("Name of the trial"),
    "trial.season": _("Year of harvest"),
    "trial.crop": _("Crop"),
    "trial.farm": _("Where it is"),
    "trial.question": _("What do you want to know?"),
    "trial.invented": _("Made up, for practice"),
    "trial.rate_question": _("Seed rate"),
    "trial.seed_lots": _("Seed lots used"),
    "trial.settings_told": _("How the methods were sown is known"),
    "outcome.product": _("What is harvested"),
    "outcome.counted": _("What decides"),
    "outcome.standard_moisture_percent": _("Counted at a moisture of"),
    "outcome.expected_t_per_ha": _("Yield you expect"),
    "outcome.expected_dry_matter_percent": _("Dry matter you expect at harvest"),
    "outcome.sample_sd_points": _("How far one dry-matter sample is off"),
    "outcome.scoop_sd_points": _("How far one scoop lies from its load"),
    "outcome.drying_sd_points": _("How far drying and weighing are off"),
    "outcome.expected_starch_percent": _("Starch you expect"),
    "outcome.expected_energy_mj_per_kg": _("Energy you expect"),
    "outcome.lab_method": _("How the values are found"),
    "outcome.starch_sd_points": _("How far one starch value is off"),
    "outcome.energy_sd_mj_per_kg": _("How far one energy value is off"),
    "methods[].letter": _("Letter on the strips"),
    "methods[].name": _("What you call it"),
    "methods[].baseline": _("This is how you sow now"),
    "methods[].machine": _("Planter"),
    "methods[].seeds_per_m2": _("Seed rate"),
    "methods[].target_plants_per_m2": _("Plants wanted"),
    "methods[].depth_cm": _("Sowing depth"),
    "methods[].depth_reason": _("Why this depth"),
    "methods[].speed_km_per_h": _("Driving speed"),
    "methods[].starter_kg_per_ha": _("Starter band"),
    "methods[].expected_emergence_fraction": _("Share of seeds that come up"),
    "methods[].extra_cost_per_ha": _("Other extra costs"),
    "methods[].strips_per_block": _("Strips in every block"),
    "methods[].row_pattern.kind": _("Rows"),
    "methods[].row_pattern.row_spacing_m": _("Row spacing"),
    "methods[].row_pattern.twin_gap_m": _("Gap of the twin row"),
    "methods[].row_pattern.staggered": _("Staggered"),
    "methods[].row_pattern.band_width_m": _("Width of the band"),
    "machines[].id": _("Name"),
    "machines[].kind": _("What it is"),
    "machines[].rows": _("Rows in one pass"),
    "machines[].row_spacing_m": _("Row spacing"),
    "machines[].header_width_m": _("Or: width of a header that cuts rows whichever way they stand"),
    "machines[].metering_limit_per_s": _("Kernels a second a metering unit bears"),
    "machines[].hopper": _("Seed hoppers"),
    "machines[].hopper_l": _("Volume of each hopper"),
    "machines[].starter_tank_l": _("Volume of the starter tank"),
    "machines[].starter_hoses": _("Bands of starter side by side"),
    "machines[].starter_beside_cm": _("Starter beside the seed"),
    "machines[].starter_below_cm": _("Starter below the seed"),
    "machines[].wheel_circumference_m": _("One turn of the metering wheel"),
    "machines[].wheel_rows": _("Row units behind a wheel, a number a line"),
    "machines[].turning_radius_m": _("Tightest turn"),
    "factors.whole": _("Side by side strips share"),
    "factors.within": _("Changed between them"),
    "seed.thousand_kernel_weight_g": _("Thousand-kernel weight"),
    "seed.bulk_density_kg_per_l": _("A litre of seed weighs"),
    "seed.reserve_percent": _("Seed bought beyond need"),
    "seed.lots[].lot": _("On the label"),
    "seed.lots[].methods": _("Methods it is for, a letter a line"),
    "seed.lots[].thousand_kernel_weight_g": _("Thousand-kernel weight"),
    "starter.product": _("Fertiliser in the band"),
    "starter.nitrogen_percent": _("Nitrogen in it"),
    "starter.potash_percent": _("K₂O in it"),
    "starter.urea": _("Part of the nitrogen is urea"),
    "starter.bulk_density_kg_per_l": _("A litre of it weighs"),
    "starter.reserve_percent": _("Bought beyond need"),
    "sowing.soil": _("Soil of the strips"),
    "sowing.moist_from_cm": _("Moist from a depth of"),
    "sowing.soil_temperature_c": _("Soil temperature"),
    "sowing.soil_temperature_source": _("Who measured it"),
    "sowing.efficiency_fraction": _("Share of the time really spent sowing"),
    "layout.heading_deg": _("Direction of the strips"),
    "layout.headland_m": _("Headland"),
    "layout.harvester": _("Harvester"),
    "layout.blocks": _("Blocks"),
    "layout.most_blocks": _("At most"),
    "layout.shortest_strip_m": _("No strip shorter than"),
    "layout.widest_strip_m": _("No strip wider than"),
    "layout.obstacle_distance_m": _("Kept clear around obstacles"),
    "layout.weighing": _("How the strips are weighed"),
    "layout.samples_per_strip": _("Dry-matter samples of each strip"),
    "layout.sprayer_width_m": _("Tramlines along the strips, every"),
    "layout.first_tramline_m": _("First tramline from the left edge"),
    "layout.spreader_width_m": _("Slurry or fertiliser spreader, a bout every"),
    "layout.spreader_heading_deg": _("Direction of its bouts, or “along” the strips"),
    "layout.first_spreader_bout_m": _("Middle of its first bout from the left edge"),
    "second_field.name": _("What the other field is called"),
    "second_field.area_ha": _("Its area"),
    "second_field.length_m": _("Its longest side"),
    "layout.limits": _("Limits on the order, most important first, one a line"),
    "layout.seed": _("Number the draw begins from"),
    "layout.strip_error_percent": _("Neighbouring strips sown alike differ by"),
    "layout.strip_error_source": _("Where that comes from"),
    "layout.fixed_edge": _("Rows are counted from"),
    "layout.fixed_edge_side": _("It lies on the"),
    "layout.hazards": _("Dangers a stranger must know, one a line"),
    "layout.entrance.lon": _("Longitude of the gate"),
    "layout.entrance.lat": _("Latitude of the gate"),
    "layout.entrance.text": _("How to find it"),
    "history.slurry": _("Slurry or digestate bouts"),
    "history.spreader": _("Spreader bouts"),
    "history.tramlines": _("Old tramlines"),
    "history.ploughing": _("Ploughing direction"),
    "history.irrigation": _("Irrigation lanes"),
    "history.drains": _("Direction of drains under the field"),
    "history.borders": _("Earlier field or crop borders"),
    "history.trenches": _("Cables, pipes, filled ditches"),
    "history.heaps": _("Old heaps"),
    "history.hedges": _("Hedges or wood beside the field"),
    "unevenness.reach_across_m": _("Likeness reaches across the strips"),
    "unevenness.reach_along_m": _("Likeness reaches along the strips"),
    "unevenness.patch_share": _("Share from small patches"),
    "unevenness.strip_width_m": _("Meant for strips as wide as"),
    "unevenness.strip_length_m": _("and as long as"),
    "unevenness.weighing_percent": _("Error of one weighing"),
    "unevenness.border_step_percent": _("Steps between neighbouring pieces"),
    "unevenness.source": _("Where these come from"),
    "effort.trailer_t": _("A trailer takes"),
    "effort.minutes_per_weighing": _("Waiting for one weighing, minutes"),
    "effort.chain_cost_per_h": _("Harvest chain waiting, an hour"),
    "soil.texture": _("Texture"),
    "soil.source": _("Who says so"),
    "soil.root_depth_m": _("Deepest roots"),
    "soil.start_fraction": _("Available water there on sowing day"),
    "soil.zones[].zone": _("What you call it"),
    "soil.zones[].strips": _("Strips in it, a number a line"),
    "soil.zones[].root_depth_m": _("Deepest roots"),
    "soil.zones[].start_fraction": _("Available water there on sowing day"),
    "season.altitude_m": _("Height above the sea"),
    "season.wind_height_m": _("Wind is measured at"),
    "season.coast": _("By the sea"),
    "season.dew_point_below_min_c": _("Dew point below the night's minimum"),
    "season.earliness": _("Maturity label of the hybrid"),
    "season.earliness_group": _("Earliness group"),
    "season.flowering_heat_sum": _("Heat to flowering, lowest and highest, one a line"),
    "season.silage_heat_sum": _("Heat to 32 % dry matter, lowest and highest"),
    "season.stage_days": _("Days of the four stages, one a line"),
    "money.currency": _("Currency"),
    "money.value_short_year_per_t": _("One more tonne in a short year"),
    "money.value_full_year_per_t": _("One more tonne in a full year"),
    "money.value_short_year_per_gj": _("One more gigajoule in a short year"),
    "money.value_full_year_per_gj": _("One more gigajoule in a full year"),
    "money.starch_value_short_year_per_t": _("One more tonne of starch in a short year"),
    "money.starch_value_full_year_per_t": _("One more tonne of starch in a full year"),
    "money.chance_short_year": _("Share of years that are short"),
    "money.seed_price_per_unit": _("Price of a unit of seed"),
    "money.kernels_per_unit": _("Kernels in a unit"),
    "money.harvest_cost_per_t_fresh": _("Carrying and clamping one more tonne"),
    "money.area_ha": _("Area it would be used on, a year"),
    "money.horizon_years": _("Years the decision counts"),
    "money.access": _("The verdict counts the machine as"),
    "money.trial_cost_per_year": _("Another trial year costs"),
    "money.machine_access[].method": _("Method it sows"),
    "money.machine_access[].way": _("The machine is"),
    "money.machine_access[].price_per_ha": _("Hired sowing costs more by"),
    "money.machine_access[].purchase_price": _("Price new"),
    "money.machine_access[].salvage_value": _("Value at the end"),
    "money.machine_access[].years": _("Years of use"),
    "money.machine_access[].interest_fraction": _("Yearly interest"),
    "money.machine_access[].upkeep_fraction": _("Taxes, insurance, housing a year"),
    "money.machine_access[].running_cost_per_ha": _("Fuel, wear, labour"),
    "money.machine_access[].area_ha_per_year": _("It sows in a year, all farms together"),
    "prior.gain_mean_percent": _("Extra yield in the long run, middle"),
    "prior.gain_sd_percent": _("How far from it the truth may lie"),
    "prior.gain_source": _("Where that comes from"),
    "prior.season_sd_percent": _("How far one season lies from the long run"),
    "prior.season_source": _("Where that comes from"),
    "prior.strip_error_percent": _("Strips sown alike differ by"),
    "prior.strip_error_log_sd": _("How unsure that is"),
    "prior.strip_error_source": _("Where that comes from"),
    "advice.largest_chance_of_loss": _("Chance of losing money you accept"),
    "advice.fewest_blocks": _("Fewer blocks than this: cannot tell"),
    "advice.level": _("Level of all ranges"),
    "advice.worthwhile_loss_t_per_ha": _("Largest loss you would accept"),
    "advice.worthwhile_loss_gj_per_ha": _("Largest loss you would accept, energy"),
    "herd.heads": _("Animals fed with this crop"),
    "herd.animals": _("What one animal eats is"),
    "herd.body_mass_kg": _("One animal weighs"),
    "herd.milk_kg": _("Milk a day, herd mean"),
    "herd.fat_percent": _("Fat in the milk"),
    "herd.lactation_week": _("Week of lactation, herd mean"),
    "herd.feed_share_fraction": _("Share of this feed in what they eat"),
    "herd.clamp_density_kg_per_m3": _("Dry matter in a cubic metre of clamp"),
    "herd.intake_kg": _("One animal eats a day, dry matter"),
    "herd.intake_source": _("Where that comes from"),
    "herd.storage_loss_percent": _("Lost in the clamp"),
    "herd.storage_loss_source": _("Where that comes from"),
    "herd.storage_loss_sd_points": _("How far that loss may be off"),
    "herd.intake_sd_percent": _("How far the intake may be off"),
    "herd.crop_cost_per_ha": _("All costs of the crop up to the clamp"),
    "people.paid_seed": _("Who paid for the seed"),
    "people.paid_machine": _("Who paid for the machine"),
    "people.paid_laboratory": _("Who paid the laboratory"),
    "people.agreed": _("What was agreed, one a line"),
    "people.phones": _("Whom to call, as who: number, one a line"),
    "people.agreements[].who": _("Who (a role will do)"),
    "people.agreements[].role": _("What they are"),
    "people.agreements[].methods": _("About which methods, a letter a line; none: all"),
    "people.agreements[].agrees": _("Agrees to the settings"),
    "people.agreements[].words": _("In their words"),
    "people.agreements[].said_on": _("Said on"),
}

CHOICES: dict[str, Words] = {
    "same_rate": _("the same for all methods"),
    "own_rate": _("each method at its advised rate"),
    "silage": _("silage"),
    "grain": _("grain"),
    "corn_cob_mix": _("corn-cob mix"),
    "whole_cob": _("whole-cob silage"),
    "yield": _("the yield"),
    "starch": _("starch"),
    "energy": _("energy"),
    "single": _("single rows"),
    "twin": _("twin rows"),
    "band": _("bands"),
    "planter": _("planter"),
    "forage_harvester": _("forage harvester"),
    "combine": _("combine"),
    "per_row": _("one for each row"),
    "per_line": _("one for each line"),
    "weighbridge": _("weighbridge"),
    "pads": _("pads under the wheels"),
    "mixer_wagon": _("feed-mixer wagon"),
    "counter": _("counter of the harvester"),
    "trailers": _("counted trailers"),
    "hand_cut": _("rows cut by hand"),
    "hire": _("hired"),
    "own": _("my own"),
    "shared": _("shared with neighbours"),
    "pattern": _("the row pattern"),
    "seed_rate": _("seed rate"),
    "none": _("none"),
    "own_figure": _("your own figure"),
    "dairy": _("reckoned for dairy cows"),
    "finishing": _("reckoned for fattening cattle"),
    "tramline": _("tramlines"),
    "covariates": _("what the earlier maps say"),
    "equal_orders": _("each order of the methods equally often"),
    "linear_trend": _("no method favoured by a change across the field"),
    "edge": _("no method favoured at the edge strips"),
    "quadratic_trend": _("no method favoured by a hump or hollow across the field"),
    "both_together": _("the order of the one factor does not go with the other"),
    "driver": _("driver"),
    "seller": _("seller"),
    "lender": _("lends or hires out the machine"),
}

SECTIONS: dict[str, Words] = {
    "trial": _("The question"),
    "outcome": _("What counts"),
    "seed": _("Seed"),
    "starter": _("Starter band"),
    "sowing": _("The day of sowing"),
    "layout": _("Strips"),
    "layout.entrance": _("Where one drives in"),
    "unevenness": _("How uneven the ground is"),
    "effort": _("What weighing takes"),
    "second_field": _("Another field for the same trial"),
    "factors": _("Two things at once"),
    "soil": _("Soil"),
    "season": _("Season"),
    "money": _("Money"),
    "herd": _("The herd"),
    "prior": _("Believed before the harvest"),
    "advice": _("Limits of the advice"),
    "people": _("People"),
}

LISTS: dict[str, tuple[Words, Words]] = {
    "methods": (_("Methods"), _("Add a method")),
    "machines": (_("Machines"), _("Add a machine")),
    "seed.lots": (_("Seed lots"), _("Add a seed lot")),
    "money.machine_access": (_("Ways to get a machine"), _("Add a way")),
    "soil.zones": (_("Soil zones"), _("Add a soil zone")),
    "people.agreements": (_("Answers of the people"), _("Add an answer")),
}

_MONEY = {"per_ha": _("a hectare"), "per_t": _("a tonne"), "per_gj": _("a gigajoule")}
_PURE_MONEY = ("purchase_price", "salvage_value", "trial_cost_per_year", "seed_price_per_unit", "chain_cost_per_h")
_MORE_UNITS: dict[str, Words] = {
    "kg_per_l": "kg/l",
    "kg_per_m3": "kg/m³",
    "l": "l",
    "per_s": "1/s",
    "years": _("years"),
    "gj_per_ha": "GJ/ha",
    "ha_per_year": "ha",
    "fraction": _("share, 0 to 1"),
}


def general(path: str) -> str:
    """Return a key path without the numbers of entries.

    Examples
    --------
    >>> general("methods[1].row_pattern.kind")
    'methods[].row_pattern.kind'
    """
    return re.sub(r"\[\d+\]", "[]", path)


def label_of(path: str) -> Words:
    """Return what a key is called."""
    return LABELS.get(general(path)) or field_words(path.rsplit(".", 1)[-1])


def unit_of(path: str, currency: str) -> Words:
    """Return the unit of a key as a page shows it; "" where it has none.

    Parameters
    ----------
    path : str
        Key path.
    currency : str
        Shown where the unit is money.
    """
    name = path.rsplit(".", 1)[-1]
    if name in _PURE_MONEY:
        return currency
    if path.startswith("money.") or name in ("extra_cost_per_ha", "crop_cost_per_ha"):
        per = next((p for p in _MONEY if name.endswith(p) or f"{p}_" in name), "")
        if per:
            return f"{currency} {_MONEY[per]}"
    more = max((s for s in _MORE_UNITS if name.endswith(f"_{s}")), key=len, default="")
    if more:
        return _MORE_UNITS[more]
    return UNITS.get(suffix_of(name), "")


def choice_of(value: str) -> Words:
    """Return what a choice is called."""
    return CHOICES.get(value) or value.replace("_", " ")
