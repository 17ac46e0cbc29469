"""What kinds of records, their fields and choices are called on a page; a name not listed here speaks for itself."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from evenground.basis.glossary import glossary
from evenground.basis.units import split_name

Words = str | Promise

KINDS: dict[str, Words] = {
    "stand_counts": _("Stand counts"),
    "spacing_runs": _("Spacing runs"),
    "depths": _("Depth readings"),
    "loads": _("Loads"),
    "weighings": _("Weighings and slips"),
    "scales": _("Scales"),
    "mass_estimates": _("Masses without a scale"),
    "cut_areas": _("Weighed cuts as measured"),
    "stubble": _("Stubble heights"),
    "samples": _("Dry-matter samples"),
    "lab_values": _("Values from the laboratory"),
    "damage": _("Damage"),
    "events": _("What happened to strips"),
    "weather": _("Weather"),
    "cut_plants": _("Plants cut by hand"),
    "scores": _("Crop walk scores"),
    "root_pits": _("Root pits"),
    "mineral_nitrogen": _("Mineral nitrogen after harvest"),
    "joints": _("Joints between passes"),
}

FIELDS: dict[str, Words] = {
    "strips": _("Strips"),
    "time": _("When"),
    "who": _("Who"),
    "lon": _("Place, longitude"),
    "lat": _("Place, latitude"),
    "note": _("Note"),
    "row_unit": _("Row unit, from the left"),
    "length_m": _("Length"),
    "width_m": _("Width"),
    "rows": _("Rows"),
    "plants": _("Plants, late ones included"),
    "stage": _("Stage"),
    "late_plants": _("Of these late, two leaves behind"),
    "lost_crows": _("Lost to crows"),
    "lost_boar": _("Lost to boar"),
    "lost_wireworm": _("Lost to wireworm"),
    "lost_crust": _("Lost under a crust"),
    "lost_hoe": _("Lost to the hoe"),
    "lost_other": _("Lost otherwise"),
    "run": _("Run (same name for both lines of a twin row)"),
    "line": _("Line of the twin row"),
    "offset_cm": _("Tape begins after that of line 1"),
    "reads": _("The readings are"),
    "unit": _("Read in"),
    "readings": _("Readings"),
    "depth_cm": _("Depth"),
    "trailer": _("Trailer"),
    "order": _("Number of the load in the day"),
    "part": _("Part of the field"),
    "split_fraction": _("Share of the strip named first"),
    "split_sd_fraction": _("How far that share may be off"),
    "load": _("Load (its id), or other"),
    "scale": _("Scale"),
    "slip": _("Slip number"),
    "cumulative": _("Not emptied since the last reading"),
    "slip_net_kg": _("Printed net"),
    "gross_kg": _("Loaded"),
    "tare_kg": _("Empty"),
    "way": _("How"),
    "resolution_kg": _("Step of the display"),
    "known_kg": _("A known mass"),
    "reading_kg": _("What the scale said of it"),
    "row_spacing_m": _("Row spacing, measured mean"),
    "joints": _("Joints between passes"),
    "left_gap_m": _("Left edge to the next row standing"),
    "right_gap_m": _("Right edge to the next row standing"),
    "height_cm": _("Height"),
    "stubs": _("Stubs measured"),
    "wet_g": _("Before drying"),
    "dry_g": _("After drying"),
    "dry_matter_percent": _("Dry matter"),
    "taken": _("Taken with or at"),
    "scoops": _("Scoops mixed"),
    "bags": _("Bags filled"),
    "dried": _("Dried in"),
    "dried_by": _("Dried by"),
    "hours_to_dry": _("Hours until dried or frozen"),
    "lab": _("Laboratory"),
    "lab_method": _("Its method"),
    "starch_percent": _("Starch in the dry matter"),
    "fibre_percent": _("Fibre (aNDFom) in the dry matter"),
    "protein_percent": _("Protein in the dry matter"),
    "digestibility_percent": _("Digestibility"),
    "energy_mj_per_kg": _("Energy in the dry matter"),
    "energy_system": _("Energy system"),
    "energy_edition": _("Its edition"),
    "cause": _("Cause"),
    "area_m2": _("Area"),
    "degree_percent": _("Crop lost there"),
    "by_method": _("May the method have caused it?"),
    "event": _("What happened"),
    "method": _("Method"),
    "product": _("Harvested as"),
    "seed_lot": _("Seed lot"),
    "stops": _("Stops"),
    "rows_off": _("Row units off"),
    "rows_off_m": _("Length sown with a row off, all rows together"),
    "lifted_m": _("Length with the planter lifted"),
    "overlap_m2": _("Sown twice"),
    "sown_fraction": _("Share of the strip sown"),
    "speed_km_per_h": _("Speed"),
    "water_mm": _("Water that reached the ground"),
    "mass_kg": _("Mass"),
    "volume_m3": _("Volume"),
    "loads": _("Loads counted"),
    "calibration": _("Calibration of the counter"),
    "cobs": _("Cobs on them"),
    "cobless_plants": _("Plants without a cob that counts"),
    "husk": _("Cobs weighed"),
    "whole_fresh_g": _("Whole plants before drying"),
    "whole_dry_g": _("Whole plants after drying"),
    "whole_dry_matter_percent": _("Dry matter of whole plants"),
    "cobs_fresh_g": _("Cobs before drying"),
    "cobs_dry_g": _("Cobs after drying"),
    "cobs_dry_matter_percent": _("Dry matter of the cobs"),
    "outline": _("Outline of the patch"),
    "hidden": _("Scored without knowing the method"),
    "ground_cover_percent": _("Ground cover"),
    "crop_height_cm": _("Height of the crop"),
    "leaf_rolling": _("Leaf rolling, 1 flat to 9 rolled"),
    "lodged_percent": _("Lodged plants"),
    "weeds_percent": _("Weeds between the lines"),
    "disease": _("Disease"),
    "diseased_percent": _("Diseased plants"),
    "photo": _("Picture"),
    "deepest_root_cm": _("Deepest root"),
    "grid_count": _("Squares with roots"),
    "grid_squares": _("Squares of the grid"),
    "grid_square_cm": _("Side of a square"),
    "from_cm": _("Layer from"),
    "to_cm": _("Layer to"),
    "mineral_n_kg_per_ha": _("Mineral nitrogen in it"),
    "joint": _("Joint, from the left"),
    "joint_m": _("Row to row across the joint"),
    "day": _("Day"),
    "rain_mm": _("Rain"),
    "temperature_min_c": _("Lowest temperature"),
    "temperature_max_c": _("Highest temperature"),
    "humidity_percent": _("Humidity, mean"),
    "humidity_min_percent": _("Humidity, lowest"),
    "humidity_max_percent": _("Humidity, highest"),
    "dew_point_c": _("Dew point"),
    "wind_m_per_s": _("Wind"),
    "radiation_mj_per_m2": _("Solar radiation"),
    "sunshine_h": _("Sunshine"),
    "checked": _("Looked at and right as it stands"),
}

HELP: dict[str, Words] = {
    "strips": _("7, or 7+8"),
    "readings": _("in walking order, with spaces: 14.5 29 43.5"),
    "joints": _("in metres: 0.78+0.71"),
    "split_fraction": _("for a load of two strips, such as 0.6"),
    "load": _("leave empty and it is joined by trailer and time"),
    "dry_matter_percent": _("or the two masses before and after drying"),
    "rows": _("a twin row is one row"),
}

CHOICES: dict[str, Words] = {
    "emerging": _("emerging"),
    "three_leaves": _("three leaves"),
    "after_last_hoeing": _("after the last hoeing"),
    "positions": _("distances from the start of the tape"),
    "gaps": _("gaps from plant to plant"),
    "cut": _("weighed cut"),
    "headland": _("headland"),
    "opening": _("opening cut"),
    "weighbridge": _("weighbridge"),
    "pads": _("pads under the wheels"),
    "mixer_wagon": _("feed-mixer wagon"),
    "other": _("other"),
    "scoop": _("scoop, from the tipped heap"),
    "hand": _("hand, from the tipped heap"),
    "chute": _("chute of the harvester"),
    "sensor": _("sensor of the harvester"),
    "plants": _("plants cut by hand"),
    "oven": _("oven"),
    "microwave": _("microwave"),
    "meter": _("moisture meter"),
    "lab": _("laboratory"),
    "boar": _("boar"),
    "deer": _("deer"),
    "crows": _("crows"),
    "hail": _("hail"),
    "lodging": _("lodging"),
    "wet_hole": _("wet hole"),
    "missed_spraying": _("missed in spraying"),
    "header_loss": _("lost at the header"),
    "lodged_cobs": _("cobs on the ground"),
    "without": _("without husks"),
    "with": _("in their husks"),
    "no": _("no"),
    "may_be": _("it may have"),
    "unknown": _("not known"),
    "counter": _("counter of the harvester"),
    "trailers": _("counted trailers"),
    "hand_cut": _("cut by hand"),
    "sown": _("sown"),
    "not_sown": _("not sown"),
    "strip_lost": _("strip lost"),
    "harvested": _("harvested"),
    "cut_measured": _("weighed cut measured"),
    "left_out": _("length left out in the whole block"),
    "product_changed": _("product changed"),
    "silage": _("silage"),
    "grain": _("grain"),
    "corn_cob_mix": _("corn-cob mix"),
    "whole_cob": _("whole-cob silage"),
    "irrigated": _("irrigated"),
    "marker_set": _("marker set in the field"),
    "marker_out": _("marker taken out again"),
    "treated": _("hoed, sprayed or fertilised"),
    "damage": _("damage"),
}

UNITS: dict[str, Words] = {
    "m": "m",
    "cm": "cm",
    "mm": "mm",
    "m2": "m²",
    "m3": "m³",
    "ha": "ha",
    "kg": "kg",
    "g": "g",
    "t": "t",
    "percent": "%",
    "points": _("points"),
    "fraction": _("as a fraction: 0.5"),
    "c": "°C",
    "h": "h",
    "km_per_h": "km/h",
    "m_per_s": "m/s",
    "mj_per_kg": "MJ/kg",
    "mj_per_m2": "MJ/m²",
    "per_m2": "1/m²",
    "per_ha": "1/ha",
    "kg_per_ha": "kg/ha",
    "t_per_ha": "t/ha",
    "deg": "°",
}


def kind_words(kind: str) -> Words:
    """Return what a kind of record is called."""
    return KINDS.get(kind) or kind.replace("_", " ").capitalize()


def field_words(name: str) -> Words:
    """Return what a field is called, without its unit.

    Examples
    --------
    >>> str(field_words("weed_cover_percent"))
    'Weed cover'
    """
    if name in FIELDS:
        return FIELDS[name]
    known = glossary().get(name)
    if known is not None and known.english:
        return known.english[:1].upper() + known.english[1:]
    suffix = suffix_of(name)
    return (name.removesuffix(f"_{suffix}") if suffix else name).replace("_", " ").capitalize()


def suffix_of(name: str) -> str:
    """Return the unit at the end of a name, or "" where it has none.

    Examples
    --------
    >>> suffix_of("sunshine_h"), suffix_of("volume_m3"), suffix_of("trailer")
    ('h', 'm3', '')
    """
    unit = split_name(name)[1]
    if unit is not None and unit.suffix in UNITS:
        return unit.suffix
    return max((s for s in UNITS if name.endswith(f"_{s}")), key=len, default="")


def unit_words(name: str) -> Words:
    """Return the unit of a field as a page shows it; "" where it has none."""
    return UNITS.get(suffix_of(name), "")


def choice_words(value: str) -> Words:
    """Return what a choice is called."""
    return CHOICES.get(value) or value.replace("_", " ")
