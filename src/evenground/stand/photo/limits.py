"""What a count from a photograph can be trusted for, and what in this photograph speaks against it."""

from __future__ import annotations

from evenground.stand.photo.found import Found

LIMITS = (
    "Tried on drawn scenes only, not on photographs of real fields (tables in docs/photo.md). Check the overlay, "
    "and count one metre of row by hand beside it.",
    "It is made for maize of 3 to 5 leaves on bare ground, taken straight down, sharp, a pixel of 1 to 4 mm on the "
    "ground.",
    "Light: an overcast sky is best. Sun and long shadows were tried; glare, dew, wet ground and green straw were not.",
    "Weeds in the rows are counted as plants: hoe first, or correct by hand.",
    "Where leaves hide the stems, and where two plants stand closer than some 6 cm, plants are missed: the share of "
    "doubles comes out too low.",
    "A plant's middle is above the ground. With the camera 1.6 m up and marks on the ground, plants 8 cm high look 5 % "
    "farther apart than they are: lay the marks at half the height of the plants, or hold the camera higher.",
)
"""Said with every result."""

COARSE_M, MUCH_BETWEEN, FAR_OVER = 0.004, 0.05, 0.9


def doubts(found: Found) -> tuple[str, ...]:
    """Say what in this photograph lies beyond what was tried.

    Parameters
    ----------
    found : Found
        What it shows.
    """
    out = []
    if found.pixel_m > COARSE_M:
        out.append(
            f"A pixel is {1000 * found.pixel_m:.1f} mm on the ground; above {1000 * COARSE_M:g} mm more is missed."
        )
    if found.between_rows_fraction > MUCH_BETWEEN:
        out.append(
            f"{found.between_rows_fraction:.0%} of the green stands between the rows: weeds, or a row not found."
        )
    spacing = typical_spacing_m(found)
    if spacing is not None and found.leaf_reach_m > FAR_OVER * spacing:
        out.append(
            f"Leaves reach about {100 * found.leaf_reach_m:.0f} cm, plants in the line stand {100 * spacing:.0f} cm "
            "apart: leaves overlap, and more is missed."
        )
    return tuple(out)


def typical_spacing_m(found: Found) -> float | None:
    """Return the median distance from plant to plant in the line [m]; None where no line has two.

    Parameters
    ----------
    found : Found
        What a photograph shows.
    """
    pairs = zip(found.plants, found.plants[1:], strict=False)
    gaps = sorted(b.position_m - a.position_m for a, b in pairs if (a.row, a.line) == (b.row, b.line))
    return gaps[len(gaps) // 2] if gaps else None
