"""Units that files may use, and their exact factors: every region reads and writes its own.

The unit stands at the end of a name (``gross_kg``). The same quantity may be given under the same name with another
unit (``gross_lb``); it is converted exactly and rounded once.

Source: yard and pound: National Bureau of Standards, Federal Register 24 FR 5348 (1 July 1959), 1 yd = 0.9144 m and
1 lb = 0.45359237 kg exactly; acre of 4840 square international yards, short ton of 2000 lb, long ton of 2240 lb and
degree Fahrenheit: NIST Special Publication 811 (2008), appendix B, which gives them to seven digits (acre: its entry
is the survey acre, 4 parts in a million larger). Bushel of maize: 56 lb, the customary trade weight.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

LB_KG = Fraction(45359237, 10**8)
YD_M = Fraction(9144, 10**4)
ACRE_M2 = 4840 * YD_M**2
BUSHEL_MAIZE_KG = 56 * LB_KG
_HA_M2 = Fraction(10**4)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as it stands at the end of a name.

    Attributes
    ----------
    suffix : str
        How it is written in a name.
    quantity : str
        What it measures; units of one quantity can stand for each other.
    factor, offset : Fraction
        Value in the quantity's base unit is ``factor`` times the number plus ``offset``.
    words : str
        How it is said.
    """

    suffix: str
    quantity: str
    factor: Fraction
    words: str
    offset: Fraction = Fraction(0)


def _units(quantity: str, **suffixes: tuple[Fraction | int, str]) -> list[Unit]:
    return [Unit(s.rstrip("_"), quantity, Fraction(f), words) for s, (f, words) in suffixes.items()]


_MASS: dict[str, tuple[Fraction | int, str]] = {
    "kg": (1, "kilograms"),
    "g": (Fraction(1, 1000), "grams"),
    "dt": (100, "dt of 100 kg"),
    "t": (1000, "tonnes of 1000 kg"),
    "lb": (LB_KG, "pounds"),
    "short_ton": (2000 * LB_KG, "short tons of 2000 lb"),
    "long_ton": (2240 * LB_KG, "long tons of 2240 lb"),
}
_AREA: dict[str, tuple[Fraction | int, str]] = {
    "m2": (1, "square metres"),
    "ha": (_HA_M2, "hectares"),
    "ac": (ACRE_M2, "acres"),
    "ft2": ((YD_M / 3) ** 2, "square feet"),
}
_LENGTH: dict[str, tuple[Fraction | int, str]] = {
    "m": (1, "metres"),
    "cm": (Fraction(1, 100), "centimetres"),
    "mm": (Fraction(1, 1000), "millimetres"),
    "km": (1000, "kilometres"),
    "in": (YD_M / 36, "inches"),
    "ft": (YD_M / 3, "feet"),
    "yd": (YD_M, "yards"),
}


def _all_units() -> dict[str, Unit]:
    out = _units("mass", **_MASS) + _units("area", **_AREA) + _units("length", **_LENGTH)
    crop_mass = {**_MASS, "bu": (BUSHEL_MAIZE_KG, "bushels of maize, 56 lb")}
    for m, (mass, mass_words) in crop_mass.items():
        out.append(Unit(f"per_{m}", "count per mass", 1 / Fraction(mass), f"per {mass_words}"))
        for a, (area, area_words) in _AREA.items():
            per_area = Fraction(mass) / Fraction(area)
            out.append(Unit(f"{m}_per_{a}", "mass per area", per_area, f"{mass_words} per {area_words}"))
    for a, (area, area_words) in _AREA.items():
        out.append(Unit(f"per_{a}", "count per area", 1 / Fraction(area), f"per {area_words}"))
        out.append(Unit(f"{a}_per_year", "area per year", Fraction(area), f"{area_words} a year"))
    out += _units(
        "share",
        fraction=(1, "as a fraction (0.33)"),
        percent=(Fraction(1, 100), "percent"),
        g_per_kg=(Fraction(1, 1000), "per mille (grams per kilogram)"),
    )
    out += _units(
        "speed",
        m_per_s=(1, "metres per second"),
        km_per_h=(Fraction(1000, 3600), "kilometres per hour"),
        mi_per_h=(1760 * YD_M / 3600, "miles per hour"),
    )
    out += _units(
        "energy per area",
        mj_per_m2=(1, "megajoules per square metre"),
        j_per_cm2=(Fraction(1, 100), "joules per square centimetre"),
        kwh_per_m2=(Fraction(36, 10), "kilowatt hours per square metre"),
        wh_per_m2=(Fraction(36, 10_000), "watt hours per square metre"),
        w_per_m2=(Fraction(864, 10_000), "watts per square metre, mean of the day"),
    )
    out.append(Unit("mj_per_kg", "energy per mass", Fraction(1), "megajoules per kilogram"))
    out.append(Unit("c", "temperature", Fraction(1), "degrees Celsius"))
    out.append(Unit("f", "temperature", Fraction(5, 9), "degrees Fahrenheit", Fraction(-160, 9)))
    return {u.suffix: u for u in out}


UNITS: dict[str, Unit] = _all_units()


def split_name(name: str) -> tuple[str, Unit | None]:
    """Split a name into what is measured and its unit.

    Examples
    --------
    >>> split_name("starter_kg_per_ha")[1].suffix, split_name("trailer")
    ('kg_per_ha', ('trailer', None))
    """
    parts = name.split("_")
    for start in range(1, len(parts)):
        unit = UNITS.get("_".join(parts[start:]))
        if unit is not None:
            return "_".join(parts[:start]), unit
    return name, None


def other_names(name: str) -> dict[str, Unit]:
    """List the names under which the same quantity may be given in another unit.

    Parameters
    ----------
    name : str
        The name used here, such as ``row_spacing_m``.

    Returns
    -------
    dict
        Other name to its unit; empty where the name carries no unit.

    Examples
    --------
    >>> [n for n in other_names("temperature_max_c")]
    ['temperature_max_f']
    """
    stem, unit = split_name(name)
    if unit is None:
        return {}
    same = (u for u in UNITS.values() if u.quantity == unit.quantity and u.suffix != unit.suffix)
    return {f"{stem}_{u.suffix}": u for u in same}


def convert(value: Fraction, source: Unit, target: Unit) -> Fraction:
    """Change the unit of a value, exactly.

    Parameters
    ----------
    value : Fraction
        Number in ``source``.
    source, target : Unit
        Units of one quantity.

    Raises
    ------
    ValueError
        If the two do not measure the same thing.

    Examples
    --------
    >>> float(convert(Fraction(1000), UNITS["lb"], UNITS["kg"]))
    453.59237
    """
    if source.quantity != target.quantity:
        raise ValueError(f"{source.words} cannot be changed into {target.words}.")
    return (value * source.factor + source.offset - target.offset) / target.factor


def ambiguous_ton(name: str) -> bool:
    """Say whether a name speaks of a ton without saying which.

    Examples
    --------
    >>> ambiguous_ton("gross_ton"), ambiguous_ton("gross_short_ton"), ambiguous_ton("yield_tons_per_ac")
    (True, False, True)
    """
    parts = name.split("_")
    return any(p in ("ton", "tons") and (i == 0 or parts[i - 1] not in ("short", "long")) for i, p in enumerate(parts))
