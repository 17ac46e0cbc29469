"""What weather files call their columns and units: the words stations and services commonly write over a column."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

# Field to the stems that mean it, in English, German and French, and the short signs of meteorology.
STEMS: dict[str, frozenset[str]] = {
    name: frozenset(words.split())
    for name, words in {
        "date": "date day datum tag jour time datetime zeit timestamp messdatum mess_datum date_time day_date "
        "yyyymmdd dy",
        "year": "year yyyy jahr annee yr",
        "month": "month monat mois mon mo",
        "day_of_year": "doy yday day_of_year dayofyear julian_day jday",
        "hour": "hour stunde heure hr hh uhrzeit",
        "station": "station station_id stationid stations_id station_name name_of_station",
        "latitude": "lat latitude breite geo_breite",
        "longitude": "lon long longitude lng laenge geo_laenge",
        "rain_mm": "rain rainfall rr prec precip precipitation prcp pr niederschlag regen nieder pluie "
        "precipitations rain_sum precipitation_sum sum_of_rain tagesniederschlag rain_total niederschlagshoehe "
        "niederschlagssumme rsk prectotcorr tagesniederschlagshoehe precipitation_amount rain_amount rainfall_amount "
        "hauteur_de_pluie pluviometrie cumul_de_pluie",
        "temperature_min_c": "tmin t_min tn tasmin tnk temp_min min_temp temperature_min min_temperature "
        "minimum_temperature temperature_minimum tmn lufttemperatur_min tiefsttemperatur temperatur_min tempmin "
        "air_temperature_min minimum_air_temperature min_t temp_low temperatur_minimum temperature_minimale "
        "lufttemperatur_minimum minimumtemperatur lowest_temperature t2m_min low "
        "temperature_mini temp_mini t_mini mini",
        "temperature_max_c": "tmax t_max tx tasmax txk temp_max max_temp temperature_max max_temperature "
        "maximum_temperature temperature_maximum tmx lufttemperatur_max hoechsttemperatur temperatur_max tempmax "
        "air_temperature_max maximum_air_temperature max_t temp_high temperatur_maximum temperature_maximale "
        "lufttemperatur_maximum maximumtemperatur highest_temperature t2m_max high "
        "temperature_maxi temp_maxi t_maxi maxi",
        "humidity_percent": "rh rhmean rh_mean rf hurs humidity relative_humidity upm luftfeuchte rel_luftfeuchte "
        "luftfeuchtigkeit relative_feuchte rel_feuchte feuchte rel_humidity rh2m "
        "humidite humidity_mean mean_humidity relative_humidity_mean humidite_relative humidite_moyenne",
        "humidity_min_percent": "rhmin rh_min humidity_min min_humidity relative_humidity_min luftfeuchte_min "
        "humidite_min humidite_mini humidite_minimale",
        "humidity_max_percent": "rhmax rh_max humidity_max max_humidity relative_humidity_max luftfeuchte_max "
        "humidite_max humidite_maxi humidite_maximale",
        "dew_point_c": "dew_point dewpoint td tdew taupunkt dew_point_temperature tdps point_de_rosee dewpoint_mean",
        "wind_m_per_s": "wind wind_speed windspeed u2 ws ff fm wind_mean mean_wind windgeschwindigkeit sfcwind vent "
        "wind_speed_mean mean_wind_speed wind_2m wind_10m ws2m vent_moyen vitesse_du_vent",
        "radiation_mj_per_m2": "radiation srad solar_radiation global_radiation globalstrahlung rad rsds "
        "shortwave_radiation strahlung rayonnement solar shortwave_radiation_sum radiation_sum allsky_sfc_sw_dwn "
        "solar_exposure global_solar_radiation rayonnement_global",
        "sunshine_h": "sunshine sun sdk sunshine_duration sonnenschein sonnenscheindauer insolation sunshine_hours "
        "duree_d_insolation",
        "mean": "tmean tavg tm tmk tas temp temperature temperature_mean mean_temperature mitteltemperatur t "
        "lufttemperatur temperatur temp_mean mean_temp",
    }.items()
}
FIELD_OF: dict[str, str] = {stem: name for name, stems in STEMS.items() for stem in stems}

# Unit as written (lower case, no spaces or degree signs) to factor and offset into the unit of the field.
Scale = tuple[float, float]
_TEMPERATURE: dict[str, Scale] = {
    **dict.fromkeys(
        ("c", "degc", "celsius", "gradc", "degreesc", "degreecelsius", "gradcelsius", "degcelsius"), (1.0, 0.0)
    ),
    **dict.fromkeys(("f", "degf", "fahrenheit", "gradf", "degreesf", "degfahrenheit"), (5 / 9, -160 / 9)),
    **dict.fromkeys(("k", "kelvin"), (1.0, -273.15)),
}
_PERCENT: dict[str, Scale] = {
    **dict.fromkeys(("%", "percent", "pct", "prozent", "%rh"), (1.0, 0.0)),
    "fraction": (100.0, 0.0),
}
UNITS_OF: dict[str, dict[str, Scale]] = {
    "rain_mm": {
        **dict.fromkeys(
            (
                "mm",
                "l/m2",
                "lm2",
                "l/qm",
                "mm/d",
                "mm/day",
                "kg/m2",
                "millimetre",
                "millimetres",
                "millimeter",
                "millimeters",
            ),
            (1.0, 0.0),
        ),
        **dict.fromkeys(("in", "inch", "inches", '"', "in/d", "zoll"), (25.4, 0.0)),
        "cm": (10.0, 0.0),
        "m": (1000.0, 0.0),
    },
    "temperature_min_c": _TEMPERATURE,
    "temperature_max_c": _TEMPERATURE,
    "dew_point_c": _TEMPERATURE,
    "humidity_percent": _PERCENT,
    "humidity_min_percent": _PERCENT,
    "humidity_max_percent": _PERCENT,
    "wind_m_per_s": {
        **dict.fromkeys(("m/s", "ms", "ms-1", "mpers", "m/sec", "mps"), (1.0, 0.0)),
        **dict.fromkeys(("km/h", "kmh", "kmperh", "kph", "kmh-1"), (1 / 3.6, 0.0)),
        **dict.fromkeys(("mph", "mi/h", "miperh"), (0.44704, 0.0)),
        **dict.fromkeys(("kn", "kt", "kts", "knots"), (1852 / 3600, 0.0)),
    },
    "radiation_mj_per_m2": {
        **dict.fromkeys(("mj/m2", "mjm-2", "mjperm2", "mj/m2/d", "mj/m2/day", "mj/qm", "mjm2"), (1.0, 0.0)),
        **dict.fromkeys(("j/cm2", "jcm2", "jpercm2", "jcm-2", "j/qcm"), (0.01, 0.0)),
        **dict.fromkeys(("kwh/m2", "kwhperm2", "kwhm-2"), (3.6, 0.0)),
        **dict.fromkeys(("wh/m2", "whperm2", "whm-2"), (0.0036, 0.0)),
        **dict.fromkeys(("w/m2", "wm2", "wperm2", "wm-2"), (0.0864, 0.0)),
    },
    "sunshine_h": {
        **dict.fromkeys(("h", "hours", "hrs", "std", "stunden"), (1.0, 0.0)),
        **dict.fromkeys(("min", "minutes", "minuten"), (1 / 60, 0.0)),
        **dict.fromkeys(("s", "seconds"), (1 / 3600, 0.0)),
    },
}
# Without a unit in the file these are asked: their numbers do not show which unit is meant.
ASKED = ("radiation_mj_per_m2",)


def units_said(field: str) -> str:
    """List the units a field may be in, one spelling each.

    Parameters
    ----------
    field : str
        A key of ``UNITS_OF``.

    Examples
    --------
    >>> units_said("sunshine_h")
    'h, min, s'
    """
    first: dict[Scale, str] = {}
    for written, scale in UNITS_OF[field].items():
        first.setdefault(scale, written)
    return ", ".join(first.values())


ALL_UNITS = frozenset(u for units in UNITS_OF.values() for u in units)


@dataclass(frozen=True)
class Heading:
    """What a heading says.

    Attributes
    ----------
    field : str
        A key of ``STEMS``, "" where it is none.
    unit : str
        As written, brought into the form of ``UNITS_OF``; "" where none is.
    tenths : bool
        Whether the unit is a tenth ("0.1 mm").
    """

    field: str
    unit: str
    tenths: bool = False


def heading(text: str) -> Heading:
    """Read one heading.

    Parameters
    ----------
    text : str
        As it stands over the column.

    Examples
    --------
    >>> heading("Tmax [°F]")
    Heading(field='temperature_max_c', unit='f', tenths=False)
    >>> heading("Niederschlag (0.1 mm)")
    Heading(field='rain_mm', unit='mm', tenths=True)
    >>> heading("wind_speed_m_per_s").unit
    'mpers'
    """
    plain = _plain(text)
    found = re.match(r"^(.*?)\s*[\[({]\s*(.+?)\s*[\])}]\s*$", plain) or re.match(r"^(.+?)\s+in\s+(\S+)$", plain)
    if found:
        return _of(_stem(found[1]), found[2])
    stem = _stem(plain)
    if stem in FIELD_OF:
        return Heading(FIELD_OF[stem], "")
    parts = stem.split("_")
    for n in range(1, min(len(parts), 4)):
        head, tail = "_".join(parts[:-n]), "".join(parts[-n:])
        if head in FIELD_OF and tail in ALL_UNITS:
            return Heading(FIELD_OF[head], tail)
    return Heading("", "")


def unit_text(text: str) -> tuple[str, bool]:
    """Bring a unit into the form of ``UNITS_OF``, and say whether it is a tenth.

    Parameters
    ----------
    text : str
        As written.

    Examples
    --------
    >>> unit_text("MJ / m²"), unit_text("0,1 °C")
    (('mj/m2', False), ('c', True))
    """
    plain = _plain(text).replace("²", "2").replace("°", "").replace("º", "").replace("^", "").replace("*", "")
    plain = re.sub(r"\s+", "", plain).removeprefix("in:").strip(".")
    tenth = re.match(r"^(?:0[.,]1|1/10)(.+)$", plain)
    return (tenth[1], True) if tenth else (plain, False)


def _of(stem: str, unit: str) -> Heading:
    name = FIELD_OF.get(stem, "")
    written, tenths = unit_text(unit)
    return Heading(name, written, tenths)


def _plain(text: str) -> str:
    """Lower case without accents; a degree sign and a superscript stay."""
    lowered = text.strip().lstrip("#").strip().lower().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return "".join(c for c in unicodedata.normalize("NFD", lowered) if not unicodedata.combining(c))


def _stem(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", _plain(text)).strip("_")
