"""The sign at the field edge (A3): what is compared, which strip is which, what to look at. It claims no result."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, sqrt

from evenground.adapters.field_drawing import draw_to_scale, strip_row
from evenground.adapters.field_plan import INVENTED, methods_data
from evenground.adapters.pdf import sheet_pdf
from evenground.basis.field import Field
from evenground.basis.method import Method
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.turned_field import turned_field

ROOM_MM = (168.0, 158.0)
ROW_MM = (380.0, 34.0)
# What anyone can see from the edge, by time of year. Common practice, no source.
LOOK_AT = (
    ("Spring", "Do the rows come up evenly? Are there gaps, or two plants in one place?"),
    ("June", "In which strips do the leaves close the ground first? Where do weeds get light?"),
    ("Dry weeks", "Where do leaves roll at noon, and where do they open again by evening?"),
    ("Late summer", "Do cobs hang on every plant? Do the lower leaves stay green alike?"),
)
NO_RESULT = (
    "What the eye sees is soil and weather as much as method. Every method therefore stands in many strips, in an "
    "order drawn by lot, and each strip is weighed at harvest. Until then nobody knows, and this sign says nothing "
    "about who is ahead."
)
NOT_TOLD = "How it was sown was not told."
PLEASE = "Please stay at the edge: trodden plants and moved markers spoil the comparison."


def field_sign(plan: Plan, field: Field, draw: Draw) -> bytes:
    """Return the field sign: one A3 page, for a passer-by.

    It names no person, farm, maker or price.

    Parameters
    ----------
    plan : Plan
        The trial.
    field : Field
        Outline and obstacles.
    draw : Draw
        The strips.
    """
    turned = turned_field(field, draw)
    sheet = draw_to_scale(
        plan, field, turned, room_mm=ROOM_MM, distances=False, exact=False, letter_pt=17.0, name="field-sign"
    )
    end = "left-hand" if sheet.sideways else "lower"
    told = plan.trial.settings_told
    methods = [
        {**data, "words": row_words(m) if told else NOT_TOLD}
        for data, m in zip(methods_data(plan), plan.methods, strict=True)
    ]
    strips = {m.letter: [s.strip for s in draw.strips if s.method == m.letter] for m in plan.methods}
    for data in methods:
        data["strips"] = "strips " + ", ".join(str(n) for n in strips[data["letter"]])
    content = {
        "title": "Which way of sowing feeds more cattle?",
        "question": plan.trial.question,
        "season": f"Maize strip trial, season {plan.trial.season}",
        "banner": INVENTED if plan.trial.invented else "",
        "methods": methods,
        "size": _size(methods),
        "question_size": min(1.0, sqrt(230 / max(1, len(plan.trial.question)))),
        "look": [{"when": when, "what": what} for when, what in LOOK_AT],
        "no_result": NO_RESULT,
        "please": PLEASE,
        "svg": sheet.svg,
        "alt": "Map of the field: which strip carries which letter.",
        "width_mm": sheet.width_mm,
        "row_svg": strip_row(plan, turned.boxes, size_mm=ROW_MM, shown="".join(plan.letters), name="sign-row"),
        "row_alt": "The strips from left to right, seen from the start: "
        + ", ".join(f"{b.strip.strip} {b.strip.method}" for b in turned.boxes),
        "row_mm": ROW_MM[0],
        "caption": f"The field: {len(draw.strips)} strips, each {draw.strips[0].width_m:g} m wide.",
        "row_caption": f"The strips from left to right, as seen from the {end} end of the map. "
        "The number is the strip, the letter the way of sowing.",
    }
    return sheet_pdf("field_sign.typ", content)


def _size(methods: Sequence[Mapping[str, str]]) -> float:
    """Return how large the methods can be set so that they fit beside the map, 1 for two with short names.

    Lines of text are counted; smaller letters also make longer lines, hence the root of what there is room for.
    """
    lines = sum(
        1.35 * ceil(len(m["name"]) / 30) + ceil(len(m["words"]) / 46) + 0.85 * ceil(len(m["strips"]) / 52) + 0.8
        for m in methods
    )
    return min(1.0, sqrt(12.5 / lines))


def row_words(method: Method) -> str:
    """Say how the rows of a method lie, for someone who does not farm.

    Parameters
    ----------
    method : Method
        The method.

    Examples
    --------
    >>> row_words(Method(letter="A", name="now", machine="m", seeds_per_m2=8.5))
    'One line of plants every 75 cm; 8.5 seeds on each square metre.'
    """
    pattern = method.row_pattern
    every = f"every {pattern.row_spacing_m * 100:g} cm"
    if pattern.kind == "twin":
        gap = f"{(pattern.twin_gap_m or 0.0) * 100:g} cm"
        stagger = ", set so that the plants of one stand between those of the other" if pattern.staggered else ""
        text = f"Pairs of lines {gap} apart {every}{stagger}"
    elif pattern.kind == "band":
        text = f"Bands of plants {(pattern.band_width_m or 0.0) * 100:g} cm wide {every}"
    else:
        text = f"One line of plants {every}"
    return f"{text}; {method.seeds_per_m2:g} seeds on each square metre."
