"""The cab card on paper: tagged, fonts inside, front and back on one sheet, nothing cut off."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.report import test_cab_card as cards

from evenground.adapters.cab_card import cab_card_pdf, write_cab_cards

CARDS = cards.cards(cards.starter_plan(wheel_circumference_m=2.0))
LETTERS = tuple(card.letter for card in CARDS)


@pytest.fixture(scope="module")
def made() -> bytes:
    return cab_card_pdf(CARDS[1], LETTERS)


def pages(data: bytes) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]


def test_tagged_titled_and_in_a_language(made):
    reader = PdfReader(io.BytesIO(made))
    root = reader.trailer["/Root"]
    assert reader.metadata.title.startswith("Cab card B")
    assert str(root["/Lang"]).startswith("en")
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 - a PDF object, not a bool
    # Outside: ISO 14289-1 asks for pdfuaid:part 1 in the metadata.
    assert re.search(r"pdfuaid:part>\s*1<|pdfuaid:part=\"1\"", root["/Metadata"].get_data().decode())


def test_every_font_is_embedded(made):
    fonts = 0
    for page in PdfReader(io.BytesIO(made)).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor or "/FontFile3" in descriptor
            fonts += 1
    assert fonts


def test_a4_front_to_drive_back_to_check(made):
    reader = PdfReader(io.BytesIO(made))
    for page in reader.pages:
        # A4 is 210 mm x 297 mm; a point is 25.4 / 72 mm.
        assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(297 / 25.4 * 72, abs=0.1)
    front, back = pages(made)
    assert "Drive, in this order" in front
    assert "33 to 40" in front
    for needed in ("Calibrate", "Should be", "Set", "Found", "Corrected to", "After the first 20 m", "Take care"):
        assert needed in back


@pytest.mark.parametrize("which", [0, 1])
def test_every_word_of_the_card_is_on_the_paper(which):
    card = CARDS[which]
    text = re.sub(r"\s", "", " ".join(pages(cab_card_pdf(card, LETTERS))))
    said = [card.name, card.machine, card.trial, card.banner, card.rows_note, card.way_note]
    said += [*card.warnings, *card.checks, *card.notes, *card.cautions, *card.fills]
    said += [w for f in card.settings for w in (f.label, f.value, f.unit)]
    said += [w for b in card.boxes for w in (b.name, b.wanted, b.how)]
    said += [p.rows for p in card.passes]
    for words in said:
        assert re.sub(r"[\s-]", "", words) in text.replace("-", ""), words


def inside(data: bytes) -> bool:
    """Whether every piece of text lies within the paper."""
    for page in PdfReader(io.BytesIO(data)).pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        places: list[tuple[float, float]] = []

        def seen(text, cm, tm, font, size, places=places):
            if text.strip():
                places.append((tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]))

        page.extract_text(visitor_text=seen)
        if not all(20 < x < width - 20 and 20 < y < height - 20 for x, y in places):
            return False
    return True


@pytest.mark.parametrize("count", [0, 1, 8, 9, 18, 24, 40])
def test_up_to_forty_passes_stay_on_one_sheet(count):
    card = CARDS[1]
    passes = tuple(
        replace(card.passes[0], number=str(i + 1), rows=f"{100 + 8 * i} to {107 + 8 * i}") for i in range(count)
    )
    data = cab_card_pdf(replace(card, passes=passes), LETTERS)
    assert len(pages(data)) == 2
    assert inside(data)


def test_warnings_and_many_fills_stay_on_the_sheet_too():
    card = CARDS[1]
    warning = "Starter place: 6 bands, 5 cm beside and 3 cm below the seed against 5 cm below the seed (NOT alike)."
    passes = tuple(replace(card.passes[0], number=str(i + 1), rows="139 to 144", fill=True) for i in range(18))
    fills = tuple(f"Before {i + 1}: seed 17 kg (24 l), starter 83 kg (83 l)" for i in range(0, 18, 2))
    data = cab_card_pdf(replace(card, passes=passes, fills=fills, warnings=(warning, warning)), LETTERS)
    assert len(pages(data)) == 2
    assert inside(data)


def test_a_very_long_list_runs_on_and_loses_nothing():
    card = CARDS[1]
    passes = tuple(replace(card.passes[0], number=str(i + 1), rows=f"{8 * i} to {8 * i + 7}") for i in range(120))
    text = " ".join(pages(cab_card_pdf(replace(card, passes=passes), LETTERS)))
    assert "952 to 959" in text


def test_same_card_same_bytes(made):
    assert cab_card_pdf(CARDS[1], LETTERS) == made


def test_text_is_never_read_as_markup():
    evil = '#panic("x") *bold* $x$ @ref \\ <label> #read("/etc/hostname") //'
    card = replace(CARDS[0], name=evil, machine=evil, trial=evil, warnings=(evil,), checks=(evil,), notes=(evil,))
    text = " ".join(pages(cab_card_pdf(card, LETTERS)))
    assert '#panic("x") *bold* $x$ @ref' in text


def test_written_by_letter_into_a_folder(tmp_path):
    written = write_cab_cards(CARDS[:2], tmp_path / "new" / "cards")
    assert [p.name for p in written] == ["cab-card-A.pdf", "cab-card-B.pdf"]
    assert all(p.read_bytes().startswith(b"%PDF") for p in written)


def test_seed_lots_stand_on_the_front():
    card = CARDS[1]
    passes = tuple(replace(card.passes[0], number=str(i + 1)) for i in range(18))
    lots = ("invented lot 1: strips 1, 4, 6.", "invented lot 2: strips 9, 11.", "Empty the hopper into its own bag.")
    data = cab_card_pdf(replace(card, passes=passes, fills=("Before 1: seed 17 kg (24 l)",), lots=lots), LETTERS)
    front, _ = pages(data)
    assert all(lot in front for lot in lots)
    assert inside(data)
