"""The papers of harvest day: what must be on them, for few strips and many, and nothing past the edge of a page."""

from __future__ import annotations

import io
import re
from importlib.resources import files

import numpy as np
import pypdf
import pytest
import typst
from PIL import Image
from tests.adapters.export import drawn_trial as trial

from evenground.adapters.harvest_pack import STUBS, TEMPLATE, harvest_pack, pack_content, write_harvest_pack
from evenground.adapters.pdf import setter_fonts, setter_json
from evenground.basis.errors import InputError
from evenground.basis.observations import Event, Records

A4_PT = (595.28, 841.89)


def made(draw=None, plan=None):
    return harvest_pack(plan or trial.plan(), trial.field(), draw or trial.draw(), Records())


def reader(data):
    return pypdf.PdfReader(io.BytesIO(data))


def text(data):
    return " ".join(" ".join(page.extract_text() for page in reader(data).pages).split())


def content(draw):
    return pack_content(trial.plan(), trial.field(), draw, Records())


def test_it_is_tagged_a4_with_a_title_and_the_same_each_time():
    data = made()
    found = reader(data)
    assert found.metadata.title == "Harvest pack: Test piece"
    assert found.trailer["/Root"]["/MarkInfo"]["/Marked"] == True  # noqa: E712 - an object of the PDF, not a bool
    assert "/StructTreeRoot" in found.trailer["/Root"]
    for page in found.pages:
        assert (page.mediabox.width, page.mediabox.height) == pytest.approx(A4_PT, abs=1.0)
    assert data == made()


@pytest.mark.parametrize(
    "words",
    [
        "Harvest order",
        "When rain stops the work",
        "finished, and all its strips count",
        "the whole block is dropped",
        "Tags for the trailers",
        "Weigh list",
        "gross",
        "Sampling card",
        "Use a scoop, not the hand",
        "several scoops from each of most loads",
        "fill two bags",
        "within 24 hours, or frozen",
        "tipped heap after the vehicle has left",
        "Stubble card",
        "Cobs and ripeness",
        "ten plants of one row, one after the other, not chosen",
        "More than 2 points of dry matter",
        # Safety, as it is common practice: nobody on foot, power lines, silage gas and drought.
        "Nobody on foot near harvester, trailer or rolling tractor without contact to the driver",
        "power lines",
        "Silage gas",
        "more of it after drought",
        "Local rules",
        "power line over the east corner",
        "Farm: 000 000",
        "Invented trial",
    ],
)
def test_what_must_be_said_is_said(words):
    assert words in text(made())


def test_the_short_caution_stands_on_every_page():
    for page in reader(made()).pages:
        assert "Nobody on foot near harvester" in " ".join(page.extract_text().split())


@pytest.mark.parametrize("blocks", [9, 30, 60])
def test_every_strip_is_on_every_card(blocks):
    draw = trial.many_strips(blocks)
    strips, found = {str(s.strip) for s in draw.strips}, content(draw)
    assert {t["strip"] for t in found["tags"]} - {""} == strips
    assert {line[0] for line in found["sampling"]["lines"]} == strips
    assert set(found["stubble"]["strips"]) == set(found["plants"]["strips"]) == strips
    assert {n for _, listed in found["blocks"] for n in listed.split(", ")} == strips


@pytest.mark.parametrize("blocks", [9, 30])
def test_no_text_begins_outside_the_margins(blocks):
    """Origin of every piece of text, in points: margins are 15 mm at the sides; the foot line stands 5 mm above."""
    data = made(trial.many_strips(blocks))
    seen = []

    def visit(words, page_at, at, _font, _size):
        if words.strip():
            seen.append(
                (
                    at[4] * page_at[0] + at[5] * page_at[2] + page_at[4],
                    at[4] * page_at[1] + at[5] * page_at[3] + page_at[5],
                )
            )

    for page in reader(data).pages:
        page.extract_text(visitor_text=visit)
    assert len(seen) > 10 * blocks
    for x, y in seen:
        assert 40.0 < x < A4_PT[0] - 40.0
        assert 10.0 < y < A4_PT[1] - 30.0
    said = text(data)
    assert {int(n) for n in re.findall(r"\bStrip (\d+)\b", said)} >= set(range(1, 2 * blocks + 1))


def test_a_block_is_listed_whole_in_the_order_of_cutting():
    found = content(trial.draw())
    cut = [row["cells"][3].split()[0] for row in found["order"]["rows"] if row["weighed"]]
    assert [n for _, listed in found["blocks"] for n in listed.split(", ")] == cut


def test_tags_follow_the_mass_to_expect_and_fill_their_pages():
    found = content(trial.draw())
    masses = {r["cells"][3].split()[0]: float(r["cells"][6]) for r in found["order"]["rows"] if r["weighed"]}
    for strip, tonnes in masses.items():
        count = sum(t["strip"] == strip for t in found["tags"])
        assert 6.0 * (count - 1) < tonnes + 0.05
        assert tonnes - 0.05 <= 6.0 * count
    assert len(found["tags"]) % 8 == 0
    assert sum(t["strip"] == "" for t in found["tags"]) >= 4
    assert found["weigh_lines"] > len(found["tags"])
    assert found["stubble"]["stubs"] == STUBS


def test_without_harvester_it_can_still_be_made():
    plan = trial.plan()
    bare = plan.model_copy(update={"layout": plan.layout.model_copy(update={"harvester": None})})
    assert "Harvest order: harvester" in text(made(plan=bare))


def test_a_wrong_name_and_a_missing_field_are_said_at_once(tmp_path):
    with pytest.raises(InputError) as caught:
        write_harvest_pack(trial.plan(), None, trial.draw(), Records(), tmp_path / "pack.txt")
    assert "field.geojson" in str(caught.value)
    assert ".pdf" in str(caught.value)


def test_it_is_written_as_one_file(tmp_path):
    path = tmp_path / "pack.pdf"
    write_harvest_pack(trial.plan(), trial.field(), trial.draw(), Records(), path)
    assert path.read_bytes() == made()
    assert [p.name for p in tmp_path.iterdir()] == ["pack.pdf"]


PPI = 72
LONG = "a name that somebody wrote without thinking of the paper it has to stand on and then went on writing"


def pictures(content):
    """Every page as an array of darkness, 0 for white."""
    made = typst.compile(
        files("evenground.adapters").joinpath(TEMPLATE).read_bytes(),
        format="png",
        ppi=PPI,
        font_paths=setter_fonts(),
        ignore_system_fonts=True,
        sys_inputs={"document": setter_json(content)},
    )
    pages = made if isinstance(made, list) else [made]
    return [255 - np.asarray(Image.open(io.BytesIO(page)).convert("L")) for page in pages]


def px(mm):
    return round(mm / 25.4 * PPI)


def overfull():
    plan = trial.plan(hazards=[LONG, "x" * 200])
    machines = [m.model_copy(update={"id": LONG[:40]}) if m.id == plan.layout.harvester else m for m in plan.machines]
    changes = {
        "trial": plan.trial.model_copy(update={"name": LONG[:80]}),
        "machines": tuple(machines),
        "layout": plan.layout.model_copy(update={"harvester": LONG[:40]}),
        "people": plan.people.model_copy(update={"phones": (LONG[:80],) * 10}),
    }
    return pack_content(plan.model_copy(update=changes), trial.field(), trial.many_strips(30), Records())


def test_no_ink_stands_in_the_margins_whatever_the_names():
    """Margins of the template: 15 mm at the sides, 13 mm above; two pixels for the edge of letters and lines."""
    for page in pictures(overfull()):
        assert page[:, : px(15) - 2].max() == 0
        assert page[:, page.shape[1] - px(15) + 2 :].max() == 0
        assert page[: px(13) - 2].max() == 0
        assert page[px(297 - 3) :].max() == 0


def test_text_stays_inside_the_boxes_of_the_tags():
    """On a page of tags alone: 57 mm x 90 mm from 15 mm and 13 mm on; inside each frame 3 mm are kept.

    Tails of letters may reach 0.8 mm into them below.
    """
    found = content(trial.many_strips(30))
    found["tags"] = [{"strip": "9999", "block": "999", "load": "10 of 10?"}] * 16
    rows = pictures(found)
    (page,) = [p for p in rows if p[px(13 + 57 * 4) + 4 : px(270)].max() == 0 and p[px(13 + 57)].mean() > 20][:1]
    for row in range(4):
        for column in range(2):
            top, left = px(13 + 57 * row), px(15 + 90 * column)
            bottom, right = px(13 + 57 * (row + 1)), px(15 + 90 * (column + 1))
            frame = page[top:bottom, left:right]
            edge, wide, below = 2, px(2.6), px(2.0)
            assert frame[edge:wide, edge:-edge].max() == 0
            assert frame[-below:-edge, edge:-edge].max() == 0
            assert frame[edge:-edge, edge:wide].max() == 0
            assert frame[edge:-edge, -wide:-edge].max() == 0
            assert frame.max() > 200


def test_where_energy_counts_the_sampling_card_says_what_the_laboratory_must_find():
    outcome = {"counted": "energy", "expected_energy_mj_per_kg": 11.0, "energy_system": "ME", "energy_edition": "first"}
    plan = trial.plan()
    counted = plan.model_copy(update={"outcome": type(plan.outcome).model_validate(outcome)})
    rules = " ".join(pack_content(counted, trial.field(), trial.draw(), Records())["sampling"]["rules"])
    assert "must give energy in ME, first for each bag" in rules
    assert "energy" not in " ".join(content(trial.draw())["sampling"]["rules"])


def test_a_strip_that_was_lost_is_cut_and_not_weighed():
    draw = trial.draw()
    gone = draw.strips[2].strip
    event = Event(id="E", time="2026-06-01T09:00", strips=str(gone), event="strip_lost", note="boar")
    whole = pack_content(trial.plan(), trial.field(), draw, Records())
    found = pack_content(trial.plan(), trial.field(), draw, Records(events=(event,)))
    row = next(r for r in found["order"]["rows"] if r["cells"][3].startswith(f"{gone} "))
    assert (row["weighed"], row["cells"][2], row["cells"][5], row["cells"][6]) == (
        False,
        "lost strip",
        "do not weigh",
        "",
    )
    assert len(found["order"]["rows"]) == len(whole["order"]["rows"])
    assert found["order"]["rules"][0].startswith(f"Strip {gone} gave no value before the harvest")
    assert str(gone) not in {tag["strip"] for tag in found["tags"]}
    assert str(gone) not in {line[0] for line in found["sampling"]["lines"]}
    assert str(gone) not in {*found["stubble"]["strips"], *found["plants"]["strips"]}
