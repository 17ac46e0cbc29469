"""``evenground settings``: what it prints, its JSON, and the cards it writes."""

from __future__ import annotations

import json
import re

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError
from evenground.cli import settings as command
from evenground.cli.app import build
from evenground.sowing.settings import settings

runner = CliRunner()
CONTENT = {
    "seed": {"thousand_kernel_weight_g": 300.0},
    "starter": {"nitrogen_percent": 18.0, "potash_percent": 0.0},
    "sowing": {"soil": "sandy", "soil_temperature_c": 9.0, "soil_temperature_source": "probe"},
    "people": {
        "agreements": [
            {"who": "the driver", "role": "driver", "agrees": True},
            {"who": "the lender", "role": "lender", "methods": ["B"], "agrees": False, "words": "9 would be better"},
        ]
    },
    "methods": [
        small.method("A", starter_kg_per_ha=150.0, speed_km_per_h=6.0),
        small.method("B", machine="pairs", starter_kg_per_ha=150.0, depth_cm=6.0),
    ],
    "machines": [
        {"id": n, "kind": "planter", "rows": 4, "row_spacing_m": 0.75, "starter_beside_cm": 0, "starter_below_cm": 0}
        for n in ("four", "pairs")
    ],
}


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    path = tmp_path_factory.mktemp("trials") / "piece"
    plan = small.plan(**CONTENT)
    text = tomlkit.dumps({"format": 1, **plan.model_dump(exclude_none=True, exclude_defaults=True, mode="json")})
    TrialFolder.create(path, text).append_draw(small.draw())
    return path


def call(*words):
    arguments = [str(w) for w in words]
    return runner.invoke(build(arguments), arguments)


def test_json_carries_every_figure_at_full_digits(trial):
    got = json.loads(call("settings", trial, "--json").stdout)
    wanted = settings(small.plan(**CONTENT), small.draw())
    assert got["methods"] == json.loads(json.dumps([s.as_dict() for s in wanted]))
    assert got["methods"][0]["starter"]["kg_per_min"] == pytest.approx(4.5)  # 150 kg/ha x 3 m x 6 km/h / 600
    assert got["rate_question"]["asked"] == "same_rate"
    assert got["agreements"]["objections"] == 1
    assert got["agreements"]["missing"] == []
    assert got["files"] == []


def test_words_say_what_is_asked_agreed_and_too_near(trial):
    text = call("settings", trial).stdout
    for needed in (
        "same seeds for all methods (9.5 seeds/m2)",
        "All methods are sown from one seed lot.",
        "OBJECTS",
        '"9 would be better"',
        "TOO NEAR THE SEED",
        "the lowest counts",
        "Penn State",
        "Kansas State University",
        "barely warm enough",
        "Local fertiliser rules go first.",
        "NOT part of the question",
    ):
        assert needed in text, needed
    assert re.search(r"starter, kg/min and hose\s+1\.125 \(4 hoses\)", text)


def test_lines_that_say_nothing_are_left_out(trial):
    text = call("settings", trial).stdout
    assert "metering bears" not in text
    assert "seed, kg/ha" in text


def test_cards_are_written_and_named(trial, tmp_path):
    folder = tmp_path / "cards"
    got = json.loads(call("settings", trial, "--cards", folder, "--json").stdout)
    assert got["files"] == [str(folder / "cab-card-A.pdf"), str(folder / "cab-card-B.pdf")]
    assert all((folder / n).read_bytes().startswith(b"%PDF") for n in ("cab-card-A.pdf", "cab-card-B.pdf"))
    assert "cab-card-A.pdf" in call("settings", trial, "--cards", folder).stdout


def test_a_folder_that_cannot_be_written_is_named(trial, tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cards cannot be written here"):
        command.run(trial, cards=tmp_path / "file" / "cards")
