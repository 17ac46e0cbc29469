"""Small drawings that paper needs: QR codes and the patterns of the methods."""

from __future__ import annotations

import io

import segno

from evenground.adapters.svg_figure import look, new_figure, svg_text


def qr_svg(text: str) -> str:
    """Return a text as QR code in one SVG element, error correction M.

    Parameters
    ----------
    text : str
        What a phone will read.
    """
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, border=2, xmldecl=False, nl=False)
    return out.getvalue().decode()


def swatch_svg(letter: str, letters: tuple[str, ...]) -> str:
    """Return a piece of a method's pattern, 26 x 18 pt.

    Parameters
    ----------
    letter : str
        The method.
    letters : tuple of str
        All methods in the order of the plan.
    """
    own = look(letter, letters)
    figure = new_figure(26.0, 18.0)
    axes = figure.add_axes((0.02, 0.03, 0.96, 0.94))
    axes.set_xticks([])
    axes.set_yticks([])
    for spine in axes.spines.values():
        spine.set_visible(True)
    axes.fill([0, 1, 1, 0], [0, 0, 1, 1], facecolor=own.fill, edgecolor=own.colour, hatch=own.hatch or None)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)
    return svg_text(figure, f"pattern-{letter}", f"Pattern of method {letter}")
