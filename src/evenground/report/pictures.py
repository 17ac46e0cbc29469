"""Data of the pictures of a report: what is to be seen, not how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass

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


Picture = TwentyDots | StripMap | BlockLines | BeliefCurves | ResidualsAlong
