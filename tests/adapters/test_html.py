"""The web page: one file, sound structure, everything escaped, fits a phone."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from tests.report import fixture_verdict

from evenground.adapters.charts import draw
from evenground.adapters.html import html
from evenground.report.build import INVENTED, build
from evenground.report.document import Column, Document, Facts, Figure, Heading, Note, Paragraph, Table
from evenground.report.wording import number

VOID = {"meta", "link", "br", "img", "hr", "input"}


class Walk(HTMLParser):
    """Collects tags, attributes and text, and checks that what opens closes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.cells: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in ("td", "th"):
            self.cells.append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if any(tag in ("td", "th") for tag in self.open):
            self.cells[-1] += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def page_of(document: Document) -> str:
    return html(document, {figure.name: draw(figure) for figure in document.figures})


@pytest.fixture(scope="module", params=["AB", "ABC"])
def page(request: pytest.FixtureRequest) -> str:
    return page_of(build(fixture_verdict.verdict(request.param), fixture_verdict.field()))


def test_is_well_formed_with_language_title_and_landmarks(page: str) -> None:
    walk = Walk(page)
    assert walk.open == []
    assert walk.all("html")[0]["lang"] == "en"
    assert "<title>Twin rows on the sand, 2025</title>" in page
    for landmark in ("header", "main", "nav", "footer"):
        assert len(walk.all(landmark)) == 1
    assert {"name": "viewport", "content": "width=device-width, initial-scale=1"} in walk.all("meta")


def test_asks_nothing_of_any_other_place(page: str) -> None:
    walk = Walk(page)
    assert "http:" not in page
    assert "https:" not in page
    assert "@import" not in page
    assert walk.all("script") == walk.all("link") == walk.all("img") == walk.all("iframe") == []
    for _, attributes in walk.tags:
        for name in ("href", "src", "xlink:href", "action", "srcset"):
            assert (attributes.get(name) or "#").startswith("#")
    assert not re.search(r"url\((?!#)", page)


def test_ids_are_unique_and_every_reference_is_met(page: str) -> None:
    walk = Walk(page)
    ids = [attributes["id"] for _, attributes in walk.tags if attributes.get("id")]
    assert len(ids) == len(set(ids))
    wanted = {(a.get("href") or "#")[1:] for a in walk.all("a")}
    wanted |= {a["aria-labelledby"] or "" for _, a in walk.tags if "aria-labelledby" in a}
    assert wanted <= set(ids)


def test_every_picture_has_words(page: str) -> None:
    pictures = Walk(page).all("svg")
    assert pictures
    assert all(p["role"] == "img" and p["aria-labelledby"] for p in pictures)
    assert len(re.findall(r"<desc ", page)) == len(pictures)


def test_headings_step_down_one_at_a_time(page: str) -> None:
    levels = [int(tag[1]) for tag, _ in Walk(page).tags if tag in ("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_table_headings_say_what_they_head(page: str) -> None:
    walk = Walk(page)
    assert all(cell.get("scope") in ("col", "row") for cell in walk.all("th"))
    assert len(walk.all("caption")) == len(walk.all("table")) > 5


def test_weights_in_the_table_are_those_of_the_harvest() -> None:
    verdict = fixture_verdict.verdict()
    cells = Walk(page_of(build(verdict, fixture_verdict.field()))).cells
    for strip in verdict.harvest.strips:
        if strip.outcome is not None:
            assert number(strip.outcome, 2) in cells
            assert number(strip.fresh_t, 2) in cells


def test_every_page_says_that_the_trial_is_invented(page: str) -> None:
    document = build(fixture_verdict.verdict(), None)
    assert page.count(INVENTED) >= len(document.pages) + 1
    real = page_of(replace(document, banner=""))
    assert "Invented trial" not in real


def test_same_document_same_bytes() -> None:
    document = build(fixture_verdict.verdict(), fixture_verdict.field())
    assert page_of(document) == page_of(document)


def test_text_is_never_read_as_markup() -> None:
    evil = "<script>alert('x')</script> & \"quoted\""
    table = Table(evil, (), ((),), evil)
    parts = (Heading(evil), Paragraph(evil), Note(evil, evil), Facts(()), table)
    page = html(Document(evil, evil, "en", evil, evil, parts), {})
    assert "<script" not in page
    assert page.count("&lt;script&gt;") >= 8
    assert Walk(page).open == []


def test_a_day_in_a_table_is_not_broken_over_two_lines() -> None:
    table = Table(
        "Days", (Column("Method"), Column("Sown"), Column("Said")), (("A", "2026-04-28", "since 2026-04-28"),)
    )
    page = html(Document("t", "", "en", "", "", (Heading("h"), table)), {})
    assert '<td class="left whole">2026-04-28</td>' in page
    assert '<td class="left">since 2026-04-28</td>' in page


def test_a_figure_without_drawing_is_an_error() -> None:
    document = build(fixture_verdict.verdict(), None)
    with pytest.raises(KeyError):
        html(document, {})
    assert any(isinstance(part, Figure) for part in document.parts)


@pytest.mark.needs_chromium
@pytest.mark.parametrize(("width", "dark"), [(390, False), (390, True), (1200, False)])
def test_nothing_runs_off_the_side(page: str, chromium: Path, tmp_path: Path, width: int, dark: bool) -> None:
    """A frame of the width of a phone: the page inside must not be wider than the frame."""
    inner = tmp_path / "report.html"
    inner.write_text(page, encoding="utf-8")
    measure = (
        f'<iframe id="f" src="report.html" style="width:{width}px;height:900px;border:0"></iframe>'
        '<pre id="o">none</pre>'
        '<script>document.getElementById("f").onload=function(){var d=this.contentDocument.documentElement;'
        'document.getElementById("o").textContent="measured "+d.scrollWidth+" "+d.clientWidth;};</script>'
    )
    outer = tmp_path / "frame.html"
    outer.write_text(measure, encoding="utf-8")
    picture = tmp_path / "page.png"
    command = [str(chromium), "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files"]
    command += ["--virtual-time-budget=4000", f"--user-data-dir={tmp_path / 'profile'}"]
    command += ["--blink-settings=preferredColorScheme=0"] if dark else []
    dom = subprocess.run(
        [*command, "--dump-dom", outer.as_uri()], capture_output=True, check=True, timeout=60, text=True
    )
    found = re.search(r"measured (\d+) (\d+)", dom.stdout)
    assert found, dom.stdout[-300:]
    assert int(found[1]) <= int(found[2]) <= width
    if width == 390 and not dark:
        shot = [*command[:-1], f"--screenshot={picture}", "--window-size=500,900", inner.as_uri()]
        subprocess.run(shot, capture_output=True, check=True, timeout=60)
        assert picture.stat().st_size > 20_000
