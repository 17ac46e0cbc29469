"""Plan, sign, card and pack: true to scale, one page, the words that must be there and those that must not."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest
from shapely.geometry import MultiPolygon, box
from tests import split_trial
from tests.adapters.export import drawn_trial as trial
from tests.layout import fields

from evenground.adapters.contractor_pack import CARD, contractor_pack
from evenground.adapters.driver_card import driver_card, pass_rows
from evenground.adapters.export.task_data import FILE_NAME
from evenground.adapters.field_drawing import MM, SCALES, draw_to_scale
from evenground.adapters.field_plan import field_plan, fixed_page, fixed_page_pdf, qr_text
from evenground.adapters.field_sign import field_sign, row_words
from evenground.adapters.paper import qr_svg
from evenground.adapters.strip_map import round_length
from evenground.layout.marks import marks
from evenground.layout.row_counts import row_counts
from evenground.layout.turned_field import turned_field
from evenground.layout.work_order import work_orders

A4, A3 = (210.0, 297.0), (420.0, 297.0)
CLAIMS = re.compile(r"\b(better|best|wins?|winner|proven|significant|more yield|higher)\b", re.IGNORECASE)


def pages(data):
    return pypdf.PdfReader(io.BytesIO(data)).pages


def text(data):
    return " ".join(" ".join(page.extract_text() for page in pages(data)).split())


def size_mm(page):
    return tuple(float(v) / 72 * 25.4 for v in (page.mediabox.width, page.mediabox.height))


def paths(svg, style=""):
    """Corners of all drawn paths of an SVG (letters are definitions without a style), in points."""
    root = ElementTree.fromstring(svg)
    found = []
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        if "style" not in path.attrib or style not in path.attrib["style"] + ";":
            continue
        numbers = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.attrib["d"])
        found.append(np.array([(float(x), float(y)) for x, y in numbers]))
    return found


@pytest.fixture(scope="module")
def turned():
    return turned_field(trial.field(), trial.draw())


def test_the_drawing_is_to_scale(turned):
    """The outline of 300 m x 360 m measured on paper: SVG has points to six digits; 0.05 mm is a line's width."""
    sheet = draw_to_scale(trial.plan(), trial.field(), turned, room_mm=(178.0, 178.0))
    assert sheet.denominator in SCALES
    outline = next(p for p in paths(sheet.svg) if len(p) in (6, 7))  # six corners, the first perhaps twice
    extent = np.ptp(outline, axis=0) / MM / 1000 * sheet.denominator
    assert sorted(extent) == pytest.approx([300.0, 360.0], abs=0.05 * sheet.denominator / 1000)
    assert sheet.width_mm <= 178.0
    assert sheet.height_mm <= 178.0


def test_the_largest_round_scale_that_fits_is_taken(turned):
    """360 m in 178 mm less two margins of 11 mm needs 1 to 2308; the next round scale is 1 to 2500."""
    sheet = draw_to_scale(trial.plan(), trial.field(), turned, room_mm=(178.0, 178.0))
    assert sheet.denominator == 2500


def test_strips_are_drawn_where_they_are(turned):
    """Eight rectangles of 6 m by 324 m and less among the paths."""
    sheet = draw_to_scale(trial.plan(), trial.field(), turned, room_mm=(178.0, 178.0))
    k = sheet.denominator / 1000 / MM
    boxes = [np.ptp(p, axis=0) * k for p in paths(sheet.svg) if len(p) == 4]
    for strip in trial.draw().strips:
        assert any(sorted(b) == pytest.approx([6.0, strip.length_m], abs=0.1) for b in boxes), strip.strip


@pytest.mark.parametrize("room", [(178.0, 178.0), (178.0, 100.0)])
def test_north_points_north_and_the_bar_is_as_long_as_it_says(turned, room):
    """Strips head 28 degrees east of north, so north lies 28 degrees left of up (or of right, where laid sideways)."""
    sheet = draw_to_scale(trial.plan(), trial.field(), turned, room_mm=room)
    shaft = next(p for p in paths(sheet.svg, "stroke-width: 1.4") if len(p) == 3)  # start, middle, end of a curve
    x, y = (shaft[-1] - shaft[0]) * (1, -1)
    angle = np.degrees(np.arctan2(y, x))
    assert angle == pytest.approx((0.0 if sheet.sideways else 90.0) + trial.HEADING, abs=0.1)
    (bar,) = [p for p in paths(sheet.svg, "stroke-width: 2;") if len(p) == 2]
    metres = np.ptp(bar[:, 0]) / MM / 1000 * sheet.denominator
    assert metres == pytest.approx(round_length(metres + 0.5), abs=0.05)


def test_a_wide_field_is_laid_sideways(turned):
    assert draw_to_scale(trial.plan(), trial.field(), turned, room_mm=(178.0, 100.0)).sideways


def test_field_plan_is_one_a4_page_with_what_belongs_on_it():
    data = field_plan(trial.plan(fixed_edge="ditch"), trial.field(), trial.draw())
    (page,) = pages(data)
    assert size_mm(page) == pytest.approx(A4, abs=0.5)
    said = text(data)
    for words in ("Test piece", "1 : 2", "100 %", "the ditch", "33–40", "34–39", "No metal", "Canes only at the edge"):
        assert words in said, words
    assert trial.draw().plan_hash[:12] in said
    assert "Invented trial" in said


def test_qr_says_which_trial_plan_and_draw_and_no_address():
    said = qr_text(trial.plan(), trial.draw())
    assert said.splitlines() == [
        "evenground trial",
        "Test piece",
        "season 2025",
        f"plan {trial.draw().plan_hash}",
        "draw 1",
    ]
    assert "://" not in said
    assert ElementTree.fromstring(qr_svg(said)).tag == "{http://www.w3.org/2000/svg}svg"


def test_the_fixed_page_names_everything_that_was_settled():
    draw, plan = trial.draw(), trial.plan()
    data = fixed_page_pdf(plan, (draw,), draw.plan_hash)
    said = text(data)
    assert len(pages(data)) == 1
    for words in (
        "Fixed before harvest",
        "t dry matter/ha",
        "The strip is the unit",
        "randomisation test",
        "1.5 %, give or take 3.5 %",
        "at most 20 %",
        draw.plan_hash,
        "the same",
    ):
        assert words in said, words
    assert not any(getattr(part, "label", "") == "Changed." for part in fixed_page(plan, (draw,), draw.plan_hash).parts)


def test_the_fixed_page_is_one_page_with_two_factors_too():
    draw = split_trial.draw()
    found = pages(fixed_page_pdf(split_trial.plan(blocks=6), (draw,), "0" * 64))
    assert len(found) == 1
    said = found[0].extract_text()
    assert "Signed" in said
    for name in (draw.split.whole, draw.split.within):
        assert name.capitalize() in said


def test_a_plan_changed_after_the_draw_is_said():
    said = text(fixed_page_pdf(trial.plan(), (trial.draw(),), "f" * 64))
    assert "changed after the draw" in said
    assert "f" * 64 in said


def test_the_sign_is_one_a3_page_that_claims_nothing():
    data = field_sign(trial.plan(), trial.field(), trial.draw())
    (page,) = pages(data)
    assert size_mm(page) == pytest.approx(A3, abs=0.5)
    said = text(data)
    for words in ("What to look at", "way A", "way B", "strips 1, 4, 5, 8", "nobody knows", "Please stay at the edge"):
        assert words in said, words
    assert not CLAIMS.search(said)


def test_the_sign_names_no_machine_person_or_price():
    plan = trial.plan()
    said = text(field_sign(plan, trial.field(), trial.draw()))
    for word in ("four", "cutter", "000 000", plan.money.currency):
        assert word not in said.split(), word


def test_rows_in_words_for_a_passer_by():
    pattern = {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.22, "staggered": True}
    method = trial.plan().methods[0]
    twin = method.model_copy(update={"row_pattern": type(method.row_pattern)(**pattern)})
    assert row_words(twin).startswith("Pairs of lines 22 cm apart every 75 cm, set so that")
    band = method.model_copy(
        update={"row_pattern": type(method.row_pattern)(kind="band", row_spacing_m=0.75, band_width_m=0.2)}
    )
    assert row_words(band).startswith("Bands of plants 20 cm wide every 75 cm")


def test_the_card_has_a_page_for_each_machine_and_the_markers():
    data = driver_card(trial.plan(), trial.field(), trial.draw())
    found = [" ".join(page.extract_text().split()) for page in pages(data)]
    assert len(found) == 3
    for words in (
        "gate on the north lane",
        "power line over the east corner",
        "Farm: 000 000",
        "8.5 seeds/m2",
        "strips 1.54 ha",
    ):
        assert words in found[0], words
    assert "do not weigh" in found[1]
    assert "Nobody on foot" in found[1]
    assert "No metal and no wire" in found[2]
    for mark in marks(trial.plan(), turned_field(trial.field(), trial.draw())):
        assert f"M{mark.number} " in found[2]


def test_every_machines_page_says_whom_to_call_and_what_is_dangerous():
    """Each driver gets a page; the markers' page is the farm's own."""
    card = driver_card(trial.plan(), trial.field(), trial.draw())
    machines = [page.extract_text() for page in pages(card) if "Markers: list" not in page.extract_text()]
    assert len(machines) == 2, "planter and harvester"
    for said in machines:
        for words in ("Way in", "Hazards", "Phone", "Hectares"):
            assert words in said


@pytest.mark.parametrize(("size_m", "crosses"), [(1.0, 1), (60.0, 0)], ids=["mast", "pond"])
def test_what_is_not_sown_is_seen_however_small(turned, size_m, crosses):
    """A mast of a metre is 0.4 mm on paper: it gets a cross besides; a pond has room for its dots."""
    middle = trial.field().boundary.centroid
    half = size_m / 2 / 111_000
    obstacles = MultiPolygon([box(middle.x - 1.6 * half, middle.y - half, middle.x + 1.6 * half, middle.y + half)])
    field = replace(trial.field(), obstacles=obstacles)
    plain = replace(field, obstacles=MultiPolygon())
    seen = [draw_to_scale(trial.plan(), f, turned, room_mm=(178.0, 178.0)).svg for f in (field, plain)]
    # The cross is a marker of two strokes, three points to each side.
    assert [len(re.findall(r'd="M -3 3 *\n?L 3 -3', svg)) for svg in seen] == [crosses, 0]
    assert seen[0].count("<path") > seen[1].count("<path")


def test_the_plan_says_what_dots_mean_only_where_there_are_any():
    whole = fields.field(fields.rectangle(300, 360))
    for field, said in ((trial.field(), True), (whole, False)):
        assert ("Dotted or cross: not sown." in text(field_plan(trial.plan(), field, trial.draw()))) is said


def test_what_nobody_said_is_shown_as_not_said():
    plan = trial.plan(entrance=None, hazards=())
    plan = plan.model_copy(update={"people": plan.people.model_copy(update={"phones": ()})})
    said = text(driver_card(plan, trial.field(), trial.draw(plan)))
    for words in ("not said; ask before you come", "none named", "none given"):
        assert words in said


@pytest.mark.parametrize("blocks", [24, 60])
def test_the_field_plan_of_many_strips_stays_on_one_page(blocks):
    """Up to 60 blocks, the most a plan can ask for; narrow strips, so that they fit the outline."""
    draw = trial.many_strips(blocks)
    assert len(pages(field_plan(trial.plan(), trial.field(), draw))) == 1


def test_a_sign_for_six_methods_stays_on_one_page():
    plan = trial.plan("ABCDEF")
    draw = trial.draw(plan, "ABCDEFAB")
    assert len(pages(field_sign(plan, trial.field(), draw))) == 1


@pytest.mark.parametrize("side", ["left", "right"])
def test_rows_of_a_pass_lie_in_its_strip(side):
    """Two passes of 4 rows fill the 8 rows of a strip, from whichever side they are counted."""
    plan = trial.plan(fixed_edge_side=side)
    machine = plan.machines[0].model_copy(update={"rows": 4})
    plan = plan.model_copy(update={"machines": (machine, *plan.machines[1:])})
    turned = turned_field(trial.field(), trial.draw(plan))
    counts = {one.strip: one for one in row_counts(plan, turned)}
    found = {}
    for one in work_orders(plan, turned)[0].passes:
        first, last = pass_rows(plan, one, counts[one.line.strip])
        found.setdefault(one.line.strip, []).append((one.line.pass_in_strip, first, last))
    for strip, passes in found.items():
        rows = sorted((first, last) for _, first, last in passes)
        low, high = counts[strip].rows
        assert rows == [(low, low + 3), (high - 3, high)]
        assert (sorted(passes)[0][1] == low) == (side == "left")


def test_the_pack_holds_lines_card_and_nothing_of_others():
    data = contractor_pack(trial.plan(), trial.field(), trial.draw(), version="0.1.0")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = archive.namelist()
        assert {CARD, FILE_NAME, "lines.kml", "READ-ME.txt", "shapefiles/lines.shp", "shapefiles/lines.prj"} <= set(
            names
        )
        whole = b"".join(archive.read(name) for name in names if not name.endswith(".pdf"))
        whole += text(archive.read(CARD)).encode()
    prices = trial.plan().money.model_dump(mode="json")
    assert trial.plan().money.currency.encode() not in whole
    assert str(prices["seed_price_per_unit"]).encode() not in whole
    assert b"Invented" in whole or b"invented" in whole


def test_the_same_trial_gives_the_same_pages():
    for make in (field_plan, field_sign, driver_card):
        assert make(trial.plan(), trial.field(), trial.draw()) == make(trial.plan(), trial.field(), trial.draw())


def test_markup_in_names_is_plain_text():
    plan = trial.plan()
    methods = (plan.methods[0].model_copy(update={"name": "#strong[x] <b> $1"}), *plan.methods[1:])
    plan = plan.model_copy(update={"methods": methods})
    assert "#strong[x] <b> $1" in text(field_sign(plan, trial.field(), trial.draw(plan)))
