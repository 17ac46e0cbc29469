"""The paper form: opens elsewhere, tagged, fonts inside, the words of the verdict on it."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from pypdf import PdfReader
from tests.report import fixture_verdict

from evenground.adapters.charts import draw
from evenground.adapters.pdf import part_data, pdf, width_pt
from evenground.report.build import INVENTED, build
from evenground.report.document import Document, Heading, Note, PageBreak, Paragraph, Table

VERDICT = fixture_verdict.verdict()
DOCUMENT = build(VERDICT, fixture_verdict.field())
DRAWINGS = {figure.name: draw(figure) for figure in DOCUMENT.figures}


@pytest.fixture(scope="module")
def made() -> bytes:
    return pdf(DOCUMENT, DRAWINGS)


@pytest.fixture(scope="module")
def reader(made: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(made))


def text_of(reader: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


def test_has_title_language_and_tags(reader: PdfReader) -> None:
    root = reader.trailer["/Root"]
    assert reader.metadata is not None
    assert reader.metadata.title == DOCUMENT.title
    assert str(root["/Lang"]).startswith("en")
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 - a PDF object, not a bool
    assert "/StructTreeRoot" in root


def test_says_it_is_pdf_ua(made: bytes, reader: PdfReader) -> None:
    """Outside: ISO 14289-1 asks for pdfuaid:part 1 in the metadata."""
    metadata = reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert re.search(r"pdfuaid:part>\s*1<|pdfuaid:part=\"1\"", metadata)


def structure(node: Any) -> list[tuple[str, str]]:
    """Kind and alternative text of every element of the tag tree."""
    node = node.get_object()
    if isinstance(node, list):
        return [found for one in node for found in structure(one)]
    if not hasattr(node, "get") or ("/S" not in node and "/K" not in node):
        return []
    own = [(str(node["/S"]), str(node.get("/Alt", "")))] if "/S" in node else []
    return own + (structure(node["/K"]) if "/K" in node and not isinstance(node["/K"], int) else [])


def test_pictures_have_alternative_text_and_tables_have_headings(reader: PdfReader) -> None:
    found = structure(reader.trailer["/Root"]["/StructTreeRoot"])
    alts = {alt for kind, alt in found if kind == "/Figure"}
    assert {figure.alt for figure in DOCUMENT.figures} <= alts
    kinds = [kind for kind, _ in found]
    assert kinds.count("/Table") == sum(isinstance(part, Table) for part in DOCUMENT.parts)
    assert "/TH" in kinds
    assert "/H1" in kinds or "/Title" in kinds


def test_every_font_is_embedded(reader: PdfReader) -> None:
    fonts = 0
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor or "/FontFile3" in descriptor
            fonts += 1
    assert fonts


def test_says_the_words_of_the_verdict(reader: PdfReader) -> None:
    text = text_of(reader)
    assert VERDICT.headline in text
    for needed in ("In this field, in 2025, B gave 0.7 t dry matter", "Try again.", "not said", "For the adviser"):
        assert needed in text
    for word in ("significant", "proven", "no difference"):
        assert word not in text.lower()


def test_every_page_is_numbered_a4_and_says_invented(reader: PdfReader) -> None:
    pages = len(reader.pages)
    # One page each for verdict, map, blocks and money, two or three for the adviser, one or two for the checks.
    assert 6 <= pages <= 9
    for number, page in enumerate(reader.pages, 1):
        text = page.extract_text()
        assert INVENTED in text
        assert f"{number} / {pages}" in text
        # A4 is 210 mm x 297 mm; a point is 25.4 / 72 mm.
        assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(297 / 25.4 * 72, abs=0.1)


def test_verdict_stands_on_the_first_page_alone(reader: PdfReader) -> None:
    first = re.sub(r"\s+", " ", reader.pages[0].extract_text())
    assert VERDICT.headline in first
    assert "Try again." in first
    assert "The strips in the field" not in first


def test_same_document_same_bytes(made: bytes) -> None:
    assert pdf(DOCUMENT, DRAWINGS) == made


def test_text_is_never_read_as_markup() -> None:
    evil = '#panic("x") *bold* $x$ @ref \\ <label> #read("/etc/hostname") ``` //'
    parts = (Heading(evil), Paragraph(evil), Note(evil, evil), PageBreak(), Paragraph(evil, "lead"))
    reader = PdfReader(io.BytesIO(pdf(Document("t", evil, "en", evil, evil, parts), {})))
    assert len(reader.pages) == 2
    assert '#panic("x") *bold* $x$ @ref' in text_of(reader)


def test_parts_become_plain_data() -> None:
    assert part_data(PageBreak(), {}) == {"kind": "pagebreak"}
    figure = DOCUMENT.figures[0]
    data = part_data(figure, DRAWINGS)
    assert data["kind"] == "figure"
    assert data["width_pt"] == width_pt(DRAWINGS[figure.name])
    with pytest.raises(KeyError):
        part_data(figure, {})
    with pytest.raises(ValueError, match="width"):
        width_pt("<svg>")
