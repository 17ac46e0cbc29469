"""The command that says what a tonne of silage is worth, against the published example of North Dakota State EC1343."""

import json

import pytest
from typer.testing import CliRunner

from evenground.cli.app import build


def call(*arguments):
    words = ["value", *arguments]
    return CliRunner().invoke(build(words), words)


# $5.50 for 56 lb at 13 % moisture and $90 a short ton of hay at 10 %; silage at 35 % dry matter, half of it grain
PRICES = ("--grain-price", "196.43", "--rough-price", "90", "--dry-matter-percent", "35", "--grain-share", "0.5")


def test_published_example_in_json_and_words():
    found = json.loads(call(*PRICES, "--json").stdout)
    assert found["per_t_fed"] == pytest.approx(57.02, abs=0.011)  # the source rounds each part up to a cent
    said = call(*PRICES).stdout
    assert "57.01 a tonne as fed, at 35 % dry matter" in said
    assert "value_short_year_per_t" in said


def test_losses_and_carrying_lower_what_the_standing_crop_is_worth():
    found = json.loads(call(*PRICES, "--lost-percent", "10", "--carrying-per-t", "12", "--json").stdout)
    assert found["standing_per_t_fed"] == pytest.approx(0.9 * found["per_t_fed"] - 12.0)
    assert found["standing_per_t_dry"] == pytest.approx(found["standing_per_t_fed"] / 0.35)


@pytest.mark.parametrize(
    "wrong",
    [
        ("--grain-share", "1.2"),
        ("--dry-matter-percent", "0"),
        ("--grain-dry-matter-percent", "870"),
        ("--grain-price", "-1"),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    got = call(*PRICES, *wrong)
    assert got.exit_code != 0
    assert not got.stdout.strip().startswith("A tonne")
