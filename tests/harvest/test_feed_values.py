"""Laboratory values: by strip, by source, never mixed."""

import pytest
from tests import small_trial as small

from evenground.harvest.care import changes, cutting_height_notes, cutting_heights_cm, sample_notes
from evenground.harvest.feed_values import feed_notes, feed_values


def energy(strips, value, system="NEL", edition="first", **changes):
    return small.lab(strips, energy_mj_per_kg=value, energy_system=system, energy_edition=edition, **changes)


def test_own_values_go_before_shared_ones_and_repeats_are_averaged():
    (starch,) = feed_values(
        [
            small.lab("1+2+3", starch_percent=30.0),
            small.lab("1", n=1, starch_percent=34.0),
            small.lab("1", n=2, starch_percent=36.0),
        ]
    )
    assert starch.by_strip == {1: 35.0, 2: 30.0, 3: 30.0}
    assert starch.shared == ((2, 3),)


def test_two_energy_systems_are_two_results_and_nothing_is_converted():
    values = feed_values([energy(1, 6.6), energy(2, 11.1, system="ME"), energy(3, 6.5, edition="second")])
    assert [v.by_strip for v in values] == [{2: 11.1}, {1: 6.6}, {3: 6.5}]
    assert all(v.quantity == "energy_mj_per_kg" for v in values)
    (note,) = feed_notes(values)
    assert "comes from 3 sources" in note
    assert "never mixed" in note


def test_two_laboratories_are_two_results():
    values = feed_values([small.lab(1, starch_percent=30.0), small.lab(2, starch_percent=33.0, lab="another one")])
    assert [set(v.by_strip) for v in values] == [{2}, {1}]


def test_a_corrected_value_counts_once():
    (starch,) = feed_values([small.lab(1, starch_percent=3.0), small.lab(1, n=2, starch_percent=33.0, replaces="V1-1")])
    assert starch.by_strip == {1: 33.0}


def test_one_sheet_with_several_values_is_several_results():
    values = feed_values([small.lab(1, starch_percent=33.0, fibre_percent=40.0, protein_percent=7.5)])
    assert [v.name.split(" (")[0] for v in values] == ["starch", "fibre", "crude protein"]


def test_how_samples_were_taken_is_said_where_it_matters():
    notes = sample_notes(
        [
            small.sample(1, 33.0, taken="hand", dried="oven"),
            small.sample(2, 33.0, taken="scoop", dried="microwave", hours_to_dry=30.0),
        ]
    )
    assert notes[0] == "samples of strip 1 were taken by hand, which loses grain; a scoop does not"
    assert "S2-1 waited more than 24 hours" in notes[1]
    assert "microwave, oven" in notes[2]
    assert sample_notes([small.sample(1, 33.0)]) == ()


def test_stubble_is_averaged_over_stubs():
    found = cutting_heights_cm(
        [small.stubble(1, 20.0, stubs=3), small.stubble(1, 28.0, n=2), small.stubble("2+3", 30.0)]
    )
    assert found == {1: 22.0, 2: 30.0, 3: 30.0}
    (note,) = cutting_height_notes(found, {1: "A", 2: "B", 3: "B"})
    assert note == "cutting height measured in the stubble: A 22 cm (1 strip), B 30 cm (2 strips)"


def test_a_change_of_product_is_a_recorded_decision():
    event = small.event("1", "product_changed", note="too dry for silage")
    assert changes([event]) == ("what is harvested was changed on 28\xa0Apr\xa02025: too dry for silage",)


@pytest.mark.parametrize("records", [[], [small.lab(1)]])
def test_nothing_measured_is_nothing(records):
    assert feed_values(records) == ()
