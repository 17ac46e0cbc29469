"""The look all figures share, and how a drawn figure becomes an SVG that is the same each time it is made."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from html import escape
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

# Colours by Okabe and Ito, "Color Universal Design" (2008): told apart with every common colour vision.
OKABE_ITO = {
    "orange": "#E69F00",
    "sky": "#56B4E9",
    "green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermilion": "#D55E00",
    "purple": "#CC79A7",
}
INK = "#1d1d1b"
QUIET = "#5d5d58"
LINE = "#8f8f88"
POINTS_PER_INCH = 72.0
BASE_SIZE = 10.5


@dataclass(frozen=True)
class Look:
    """How a method looks: letter first, pattern and marker second, colour last.

    Attributes
    ----------
    colour, fill : str
        Colour of lines and marks, and its pale form for areas.
    hatch : str
        Pattern of areas.
    marker : str
        Mark of single values.
    """

    colour: str
    fill: str
    hatch: str
    marker: str


LOOKS = {
    "A": Look(OKABE_ITO["orange"], "#fbeccb", "", "o"),
    "B": Look(OKABE_ITO["blue"], "#d3e5f1", "////", "D"),
    "C": Look(OKABE_ITO["green"], "#d0ece4", "---", "^"),
    "D": Look(OKABE_ITO["purple"], "#f5e4ee", "xxx", "s"),
    "E": Look(OKABE_ITO["vermilion"], "#f8dfce", "..", "v"),
    "F": Look(OKABE_ITO["sky"], "#dff0fb", "+++", "P"),
}


def look(letter: str, letters: tuple[str, ...]) -> Look:
    """Return how a method looks: by its place among the methods of the trial, so that the first six always differ."""
    place = letters.index(letter) if letter in letters else ord(letter) - ord("A")
    return tuple(LOOKS.values())[place % len(LOOKS)]


SETTINGS: dict[Any, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": BASE_SIZE,
    "text.color": INK,
    "text.parse_math": False,
    "axes.labelcolor": INK,
    "axes.edgecolor": LINE,
    "axes.linewidth": 0.8,
    "axes.unicode_minus": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "xtick.color": LINE,
    "xtick.labelcolor": INK,
    "ytick.color": LINE,
    "ytick.labelcolor": INK,
    "xtick.labelsize": BASE_SIZE - 1,
    "ytick.labelsize": BASE_SIZE - 1,
    "hatch.linewidth": 0.7,
    "lines.linewidth": 1.6,
    "svg.fonttype": "path",
    "figure.facecolor": "white",
    "path.simplify": False,
}


def new_figure(width_pt: float, height_pt: float) -> Figure:
    """Return an empty figure of a size in points, tied to no screen and no global state."""
    return Figure(figsize=(width_pt / POINTS_PER_INCH, height_pt / POINTS_PER_INCH), dpi=POINTS_PER_INCH)


def only_x_axis(axes: Axes) -> None:
    """Leave the horizontal axis only."""
    axes.set_yticks([])
    axes.tick_params(axis="x", length=4)


def svg_text(figure: Figure, name: str, alt: str) -> str:
    """Return the figure as SVG, without prolog, date or any address; ids carry the figure's name.

    Parameters
    ----------
    figure : Figure
        Drawn figure.
    name : str
        Unique in the document.
    alt : str
        What it shows, for someone who cannot see it.

    Returns
    -------
    str
        One ``svg`` element with ``role="img"``, title and description; letters are outlines, so no font is needed.
    """
    out = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": name}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"\s*<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    label = f'role="img" aria-labelledby="{name}-alt"'
    described = f'<desc id="{name}-alt">{escape(alt)}</desc>'
    return re.sub(r"<svg ([^>]*)>", lambda m: f"<svg {m.group(1)} {label}>{described}", text, count=1)
