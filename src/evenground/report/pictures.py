"""Data of the pictures of a report: what is to be seen, not how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

Point = tuple[float, float]


@dataclass(frozen=True)
class TwentyDots:
    """Twenty equally likely values of the long-run extra yield.

    Attributes
    ----------
    gains : tuple of float
        Twenty values, smallest first [unit].
    pays_from : float
        What it must reach to pay [unit]; infinite where nothing pays, minus infinity where everything does.
    method, baseline : str
        Letters.
    unit : str
        Unit of the extra yield.
    """

    gains: tuple[float, ...]
    pays_from: float
    method: str
    baseline: str
    unit: str

    @property
    def paying(self) -> int:
        """How many of the twenty are above what it must reach [1]."""
        return sum(gain > self.pays_from for gain in self.gains)

    @property
    def amount(self) -> str:
        """What the extra yield is counted in: the first word of its unit, "t" or "GJ"."""
        return self.unit.split("/")[0].split(" ")[0]


@dataclass(frozen=True)
class MapStrip:
    """One strip of the map.

    Attributes
    ----------
    strip, block : int
        Numbers.
    letter : str
        Method as sown.
    ring : tuple of Point
        Closed outline, across and along the strips [m].
    label : str
        Weight as written in the strip, or what became of it.
    weighed : bool
        Whether a weight stands in it.
    """

    strip: int
    block: int
    letter: str
    ring: tuple[Point, ...]
    label: str
    weighed: bool


@dataclass(frozen=True)
class StripMap:
    """The strips in their field, turned so that they run up the page.

    Attributes
    ----------
    strips : tuple of MapStrip
        By number.
    boundary : tuple of rings
        Field outline and holes, same coordinates; empty where unknown [m].
    north : Point
        Direction of north as a unit vector, across and along.
    names : tuple of (str, str)
        Letter and name of each method.
    unit : str
        Unit of the weights.
    """

    strips: tuple[MapStrip, ...]
    boundary: tuple[tuple[Point, ...], ...]
    north: Point
    names: tuple[tuple[str, str], ...]
    unit: str


@dataclass(frozen=True)
class BlockLines:
    """One line a block, joining its methods.

    Attributes
    ----------
    letters : tuple of str
        Methods from left to right, the baseline first.
    blocks : tuple of (int, tuple of float or None)
        Block and its yield under each method; None where it was not weighed [unit].
    unit : str
        Unit of the yields.
    """

    letters: tuple[str, ...]
    blocks: tuple[tuple[int, tuple[float | None, ...]], ...]
    unit: str


@dataclass(frozen=True)
class Curve:
    """One curve of belief.

    Attributes
    ----------
    label : str
        What it is about.
    density : tuple of float
        Height at each grid point [1/unit].
    """

    label: str
    density: tuple[float, ...]


@dataclass(frozen=True)
class BeliefCurves:
    """How belief is spread over the extra yield.

    Attributes
    ----------
    grid : tuple of float
        Extra yield [unit].
    curves : tuple of Curve
        One each for this season, the long run and next season.
    pays_from : float
        What it must reach to pay [unit].
    unit : str
        Unit of the extra yield.
    """

    grid: tuple[float, ...]
    curves: tuple[Curve, ...]
    pays_from: float
    unit: str


@dataclass(frozen=True)
class Residual:
    """What is left of one strip after method and block.

    Attributes
    ----------
    strip, letter : str
        Which strip, sown how.
    value : float
        Weighed minus expected [unit].
    """

    strip: str
    letter: str
    value: float


@dataclass(frozen=True)
class ResidualsAlong:
    """Residuals in the order the strips lie in the field.

    Attributes
    ----------
    residuals : tuple of Residual
        From the first slot to the last.
    unit : str
        Their unit.
    """

    residuals: tuple[Residual, ...]
    unit: str


@dataclass(frozen=True)
class StageMark:
    """Something that happened to the crop, on a day or within days.

    Attributes
    ----------
    name : str
        What it was.
    first, last : date
        Earliest and latest day.
    """

    name: str
    first: date
    last: date


@dataclass(frozen=True)
class CropLife:
    """Sowing and stages of methods that have all their days in common.

    Attributes
    ----------
    letters : tuple of str
        Methods.
    marks : tuple of StageMark
        Sowing first, then the stages in order.
    """

    letters: tuple[str, ...]
    marks: tuple[StageMark, ...]


@dataclass(frozen=True)
class WaterLine:
    """Available water day by day.

    Attributes
    ----------
    letters : tuple of str
        Methods with just this water.
    first : date
        Day of the first value.
    percent : tuple of float
        Share of usable field capacity [%].
    """

    letters: tuple[str, ...]
    first: date
    percent: tuple[float, ...]


@dataclass(frozen=True)
class HeatLine:
    """Heat summed day by day since sowing.

    Attributes
    ----------
    letters : tuple of str
        Methods with just this heat.
    first : date
        Day of the first value, the day of sowing.
    degree_days : tuple of float
        Sum up to each day, base 6 with ceiling 30 [deg C d].
    """

    letters: tuple[str, ...]
    first: date
    degree_days: tuple[float, ...]


@dataclass(frozen=True)
class SeasonDays:
    """The season on one time axis: crop, heat, water in the ground, rain.

    Attributes
    ----------
    first : date
        First day of the axis.
    rain_mm : tuple of float or None
        Rain of each day; None where there is no record [mm].
    water : tuple of WaterLine
        One for all methods alike, otherwise one a method; empty where there is no balance.
    lives : tuple of CropLife
        Sowing and stages.
    flowering : (date, date) or None
        The weeks around flowering of all methods together.
    harvest : date or None
        Last day of harvest.
    letters : tuple of str
        All methods of the trial, which gives each its look.
    heat : tuple of HeatLine
        One for all methods alike, otherwise one a method; empty where a temperature is not known.
    """

    first: date
    rain_mm: tuple[float | None, ...]
    water: tuple[WaterLine, ...]
    lives: tuple[CropLife, ...]
    flowering: tuple[date, date] | None
    harvest: date | None
    letters: tuple[str, ...]
    heat: tuple[HeatLine, ...] = ()

    @property
    def last(self) -> date:
        """Last day of the axis."""
        return self.first + timedelta(days=len(self.rain_mm) - 1)


@dataclass(frozen=True)
class BorderSide:
    """One side of a border.

    Attributes
    ----------
    letter : str
        Its method.
    distance_m : tuple of float
        Distance of each place from the border, below zero on the baseline's side [m]; empty for weights alone.
    value : tuple of float
        Yield of each place, or each weight [unit].
    line : tuple of (float, float, float)
        Points of the straight line drawn through them: distance [m], height, and how far it may lie off [unit].
    """

    letter: str
    distance_m: tuple[float, ...]
    value: tuple[float, ...]
    line: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class BorderPoints:
    """Yields on both sides of a border, the step between them, and the range it leaves open.

    Attributes
    ----------
    first, second : BorderSide
        Baseline and method.
    step : float
        Second minus first at the border, or of the means of weights [unit].
    interval : (float, float)
        Range of the method's own part, at least this wide [unit].
    unit : str
        Unit of the yields.
    letters : tuple of str
        All methods of the trial, which gives each its look.
    """

    first: BorderSide
    second: BorderSide
    step: float
    interval: tuple[float, float]
    unit: str
    letters: tuple[str, ...]


Picture = TwentyDots | StripMap | BlockLines | BeliefCurves | ResidualsAlong | SeasonDays | BorderPoints
