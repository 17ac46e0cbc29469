"""evenground layout: keys, exit statuses, the lock, and what a farmer reads."""

import json

import numpy as np
import pytest
import tomlkit
from shapely.geometry import MultiPolygon
from tests.layout import fields
from typer.testing import CliRunner

from evenground.adapters.hand_over import hand_over
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli.app import build

runner = CliRunner()
KEYS = {
    "heading_deg", "strips", "blocks", "allowed_orders", "smallest_p", "seed", "limits", "detectable_gain",
    "alternatives",
}  # fmt: skip
STRIP_KEYS = {"strip", "block", "method", "width_m", "length_m", "area_m2", "cut_area_m2"}
GAIN_KEYS = {"t_per_ha", "money_per_ha", "power", "alpha", "strip_error_percent", "source"}


def make(path, shape=None, **wishes):
    plan = fields.plan(**{"blocks": 8, "seed": 11, **wishes})
    content = {"format": 1, **plan.model_dump(exclude_none=True, exclude_defaults=True, mode="json")}
    shape = fields.rectangle(150, 200, 20) if shape is None else shape
    TrialFolder.create(path, tomlkit.dumps(content), fields.field(shape) if not shape.is_empty else None)
    return path


def layout(path, *more):
    words = ["layout", str(path), *more]
    return runner.invoke(build(words), words)


def parsed(path, *more):
    got = layout(path, "--json", *more)
    assert got.exit_code == 0, got.output
    return json.loads(got.stdout)


def content(path):
    return {p.relative_to(path): p.read_bytes() for p in path.rglob("*") if p.is_file()}


def test_the_keys_are_the_contract(tmp_path):
    found = parsed(make(tmp_path / "piece"))
    assert set(found) >= KEYS
    assert set(found["strips"][0]) >= STRIP_KEYS
    assert set(found["detectable_gain"]) >= GAIN_KEYS
    assert (found["blocks"], len(found["strips"])) == (8, 16)
    assert (found["allowed_orders"], found["seed"], found["fits"], found["can_answer"]) == (238, 11, True, True)
    for strip in found["strips"]:
        assert strip["area_m2"] == pytest.approx(strip["width_m"] * strip["length_m"])
        assert strip["cut_area_m2"] == pytest.approx(4.5 * strip["length_m"])
    assert 1 <= len(found["alternatives"]) <= 3


def test_the_draw_is_stored_and_stays(tmp_path):
    path = make(tmp_path / "piece")
    first = parsed(path)
    stored = TrialFolder(path).load()
    assert [s.method for s in stored.draw.strips] == [s["method"] for s in first["strips"]]
    assert stored.draw.plan_hash == stored.plan_hash
    before = content(path)
    got = layout(path, "--json")
    assert json.loads(got.stdout) == first
    assert "Drawn already" in got.stderr
    assert content(path) == before


def test_again_needs_a_reason_and_keeps_the_first_draw(tmp_path):
    path = make(tmp_path / "piece")
    first = parsed(path)
    second = parsed(path, "--again", "the contractor comes with another planter")
    draws = TrialFolder(path).load().draws
    assert [draw.number for draw in draws] == [1, 2]
    assert (draws[0].reason, draws[1].reason) == ("", "the contractor comes with another planter")
    assert [s.method for s in draws[0].strips] == [s["method"] for s in first["strips"]]
    # A fixed seed would repeat the first draw; the next one takes the next seed.
    assert (second["seed"], second["draw"]) == (12, 2)


def test_again_without_words_changes_nothing(tmp_path):
    path = make(tmp_path / "piece")
    parsed(path)
    before = content(path)
    got = layout(path, "--again", "  ")
    assert isinstance(got.exception, InputError)
    assert "a new draw needs a reason" in str(got.exception)
    assert content(path) == before


def test_without_a_seed_in_the_plan_every_trial_gets_its_own(tmp_path):
    seeds = {parsed(make(tmp_path / name, seed=None, blocks=6))["seed"] for name in ("one", "two")}
    assert len(seeds) == 2
    assert all(0 <= seed < 2**53 for seed in seeds)


def test_nothing_fits_is_an_answer_with_status_one(tmp_path):
    path = make(tmp_path / "piece", shape=fields.rectangle(80, 80))
    before = content(path)
    got = layout(path, "--json")
    assert got.exit_code == 1
    found = json.loads(got.stdout)
    assert found["fits"] is False
    assert "do not fit" in found["message"]
    assert found["nearest"]
    assert found["nearest"] in got.stderr
    assert content(path) == before
    assert layout(path).exit_code == 1


@pytest.mark.parametrize(
    ("wishes", "shape", "message"),
    [
        ({"headland_m": 90}, fields.rectangle(150, 200), "Nothing is left of the field inside a headland of 90 m"),
        ({"blocks": 40}, fields.rectangle(150, 200), "40 blocks of 2 strips"),
        ({"heading_deg": 90.0, "blocks": 1}, fields.rectangle(60, 200), "at heading 90°"),
    ],
)
def test_each_reason_not_to_fit_is_said(tmp_path, wishes, shape, message):
    got = layout(make(tmp_path / "piece", shape=shape, **wishes))
    assert got.exit_code == 1
    assert message in got.stderr


def test_a_missing_outline_is_bad_input(tmp_path):
    got = layout(make(tmp_path / "piece", shape=MultiPolygon()))
    assert isinstance(got.exception, InputError)
    assert got.exception.problems[0].file == "field.geojson"


def test_a_plan_changed_after_the_draw_is_said(tmp_path):
    path = make(tmp_path / "piece")
    first = parsed(path)
    TrialFolder(path).change_plan({"layout.blocks": 40})
    got = layout(path, "--json")
    assert json.loads(got.stdout)["strips"] == first["strips"]
    assert "The plan was changed after the draw" in got.stderr
    assert "does not fit the field any more" in got.stderr


def test_a_machine_changed_after_the_draw_leaves_the_draw_readable(tmp_path):
    path = make(tmp_path / "piece", blocks=3)
    first = parsed(path)
    TrialFolder(path).change_plan({"machines[0].rows": 10})
    again = layout(path, "--json")
    assert again.exit_code == 0, again.output
    assert json.loads(again.stdout)["strips"] == first["strips"]
    assert "which is not whole passes of it" in again.stderr
    assert "which is not whole passes of it" in " ".join(TrialFolder(path).notes())
    with pytest.raises(InputError, match="not whole passes"):
        hand_over(TrialFolder(path).load(), "pack", version="0")
    found = parsed(path, "--again", "the contractor comes with ten rows")
    assert found["draw"] == 2
    assert found["strips"][0]["width_m"] != first["strips"][0]["width_m"]
    assert [draw.reason for draw in TrialFolder(path).load().draws] == ["", "the contractor comes with ten rows"]


def test_what_the_farmer_reads(tmp_path):
    path = make(tmp_path / "piece")
    gain = parsed(path)["detectable_gain"]
    text = layout(path).stdout
    assert "16 strips in 8 blocks, each 6 m wide" in text
    assert "Weighed cut: 4.5 m wide" in text
    assert "Looking that way strip 1 is on the left." in text
    assert "Block  8:" in text
    # k(8) sqrt(2) CV of 13 t/ha, k(8) = 1.1560 from the published table; 126 a tonne (the plan's defaults).
    tonnes = 1.1560 * 2**0.5 * gain["strip_error_percent"] / 100 * 13
    assert gain["t_per_ha"] == pytest.approx(tonnes, rel=1e-4)
    assert gain["money_per_ha"] == pytest.approx(126 * tonnes, rel=1e-4)
    assert f"The trial can see {tonnes:.2f} t dry matter/ha ({126 * tonnes:.0f} EUR/ha)." in text
    assert "Drawn from 238 allowed orders, seed 11; smallest possible p 0.0084." in text
    assert "no metal" in text
    assert "Other headings:" in text


def test_the_further_keys_hold_together(tmp_path):
    found = parsed(make(tmp_path / "piece"))
    assert found["chosen"]["detectable_t_per_ha"] == pytest.approx(found["detectable_gain"]["t_per_ha"], rel=2e-3)
    assert found["chosen"]["weighings"] == 16
    assert [way["name"] for way in found["ways"]][:3] == ["Two halves of this field", "Two fields", "This layout"]
    assert [one["blocks"] for one in found["if_fewer_passes"]] == [7, 6, 5, 4, 3, 2]
    assert len(found["history"]) == 10
    errors = found["standard_error_percent"]
    # Limits change the expected error by a few per cent at most on ground whose likeness falls with distance.
    assert errors["within_limits"] == pytest.approx(errors["free_draw"], rel=0.1)


def test_bands_along_the_strips_are_said_first(tmp_path):
    path = make(tmp_path / "piece", heading_deg=20.0, blocks=8)
    TrialFolder(path).change_plan({"history.slurry": 25.0})
    first = layout(path).stdout.splitlines()[:2]
    assert "history speaks against this layout" in first[0]
    assert "along the strips" in first[1]


def test_earlier_yields_beside_the_plan_enter_the_draw(tmp_path):
    path = make(tmp_path / "piece")
    plane = fields.field(fields.rectangle(150, 200, 20)).plane
    at = np.random.default_rng(3).uniform(-95, 95, (2, 3000))
    lon, lat = plane._proj(*at, inverse=True)
    value = 9 + np.sin(at[0] / 9) + np.random.default_rng(4).normal(0, 0.3, 3000)
    rows = "\n".join(f"{x:.7f},{y:.7f},{v:.3f}" for x, y, v in zip(lon, lat, value, strict=True))
    (path / "earlier_yields.csv").write_text(f"lon,lat,value\n{rows}\n")
    found = parsed(path)
    assert "covariates" in {limit["name"] for limit in found["limits"] if limit["applied"]}
    (said,) = found["from_earlier_yields"]
    assert 0.1 < said["strip_error_percent"] < 40
    assert "put them into the plan (trial.toml) and draw anew" in layout(path).stdout


def test_a_field_that_cannot_answer_says_so_first(tmp_path):
    path = make(tmp_path / "piece", blocks=3)
    assert parsed(path)["can_answer"] is False
    text = layout(path).stdout
    assert text.startswith("This field cannot answer")
    assert "This field cannot answer the question as it is laid out:" in text
    assert "What would help:" in text


def test_what_was_not_read_is_said_before_the_draw_and_not_again(tmp_path):
    """A key mistyped and a tree drawn under a role of its own would otherwise be missed until the strips are locked."""
    path = make(tmp_path / "t")
    text = (path / "trial.toml").read_text()
    (path / "trial.toml").write_text(text.replace("[layout]", "[layout]\ngaurd_rows = 2"))
    outline = json.loads((path / "field.geojson").read_text())
    tree = {"type": "Point", "coordinates": [9.5, 51.5]}
    outline["features"].append({"type": "Feature", "properties": {"role": "tree"}, "geometry": tree})
    (path / "field.geojson").write_text(json.dumps(outline))
    first, second = layout(path), layout(path)
    assert first.exit_code == 0, first.output
    for told in ("layout.gaurd_rows is kept but not read. Is guard_rows meant?", "has the role 'tree' and is not read"):
        assert told in first.stderr
        assert told not in second.stderr


def test_who_was_not_asked_is_said_before_the_draw_only(tmp_path):
    path = make(tmp_path / "piece")
    first, again = layout(path), layout(path)
    assert "Not asked yet, or the answer is not recorded: the driver of" in first.stderr
    assert "Not asked yet" not in again.stderr
