"""Sets cab cards on paper: one A4 sheet a method, large type, tagged PDF."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from evenground.adapters.files import write_atomically
from evenground.adapters.paper import swatch_svg
from evenground.adapters.pdf import sheet_pdf
from evenground.report.cab_card import CabCard

TEMPLATE = "cab_card.typ"


def cab_card_pdf(card: CabCard, letters: tuple[str, ...]) -> bytes:
    """Return a card as a PDF: A4, tagged (PDF/UA-1), fonts embedded, the same bytes each time.

    Parameters
    ----------
    card : CabCard
        What it says.
    letters : tuple of str
        All methods in the order of the plan; each has its pattern.
    """
    return sheet_pdf(TEMPLATE, {**asdict(card), "pattern": swatch_svg(card.letter, letters)})


def write_cab_cards(cards: Sequence[CabCard], folder: Path) -> tuple[Path, ...]:
    """Write each card into a folder as ``cab-card-LETTER.pdf``.

    Parameters
    ----------
    cards : sequence of CabCard
        What they say, in the order of the plan.
    folder : Path
        Where to; made if it is not there.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    letters = tuple(card.letter for card in cards)
    written = []
    for card in cards:
        path = folder / f"cab-card-{re.sub(r'[^A-Z]', '', card.letter)}.pdf"
        write_atomically(path, cab_card_pdf(card, letters))
        written.append(path)
    return tuple(written)
