"""Faults found at the door become problems with field, given and allowed."""

from __future__ import annotations

import pytest
from pydantic import ValidationError
from tests import small_trial

from evenground.basis.harvest_records import CutArea, Load, Scale
from evenground.basis.method import RowPattern
from evenground.basis.money import MachineAccess, Prices
from evenground.basis.observations import Event, Sample, WeatherDay, Weighing
from evenground.basis.plan import Plan
from evenground.basis.quality_records import Damage, LabValue, MassEstimate
from evenground.basis.record import known_place, limits_text, models_in, problems_of, with_changes

BASE = {"id": "1", "time": "2025-09-09T10:00"}


def faults(model, content):
    with pytest.raises(ValidationError) as caught:
        model.model_validate(content)
    return problems_of(caught.value, file="f", row=3, model=model)


def one(model, content):
    (fault,) = faults(model, content)
    assert (fault.file, fault.row) == ("f", 3)
    return fault.field, fault.given, fault.allowed


@pytest.mark.parametrize(
    ("model", "content", "told"),
    [
        (Weighing, {"load": "L", "gross_kg": -3, "tare_kg": 0}, ("gross_kg", "-3", "above 0, at most 80000")),
        (Weighing, {"load": "L", "gross_kg": 0, "tare_kg": 0}, ("gross_kg", "0", "above 0, at most 80000")),
        (
            Weighing,
            {"load": "L", "gross_kg": float("nan"), "tare_kg": 0},
            ("gross_kg", "nan", "above 0, at most 80000"),
        ),
        (Weighing, {"load": "L", "gross_kg": 5, "tare_kg": 9}, ("gross_kg", "5", "above the tare of 9 kg")),
        (Weighing, {"load": "L"}, ("gross_kg", "", "gross_kg, tare_kg, both, or slip_net_kg")),
        (Weighing, {"gross_kg": 9, "tare_kg": 5, "cumulative": True}, ("cumulative", "true", "gross_kg alone")),
        (Load, {"strips": "7", "split_fraction": 0.4}, ("strips", "7", "two strips, such as 7+8")),
        (Load, {"strips": "7+8", "split_sd_fraction": 0.1}, ("split_fraction", "", "a share between 0 and 1")),
        (Scale, {"scale": "s", "known_kg": 5}, ("reading_kg", "", "both or neither")),
        (CutArea, {"strips": "1", "rows": 2, "length_m": 9, "joints": "0.7+0.8"}, ("joints", "2", "at most 1")),
        (
            CutArea,
            {"strips": "1", "rows": 9, "length_m": 9, "joints": "0.7 m"},
            ("joints", "m", "metres such as 0.78+0.71"),
        ),
        (
            LabValue,
            {"strips": "1", "lab": "l", "energy_mj_per_kg": 6.5, "energy_system": "NEL"},
            ("energy_edition", "", "as the laboratory's sheet names it"),
        ),
        (
            Damage,
            {"strips": "1", "cause": "boar", "length_m": 9, "area_m2": 9},
            ("area_m2", "9", "length_m or area_m2"),
        ),
        (MassEstimate, {"strips": "1", "way": "counter"}, ("mass_kg", "", "a value")),
        (MassEstimate, {"strips": "1", "way": "hand_cut", "mass_kg": 5, "rows": 2}, ("length_m", "", "a value")),
        (Event, {"strips": "1", "event": "left_out"}, ("length_m", "", "a length")),
        (Sample, {"strips": "1", "dry_matter_percent": 330}, ("dry_matter_percent", "330", "8 to 99")),
        (Sample, {"strips": "1", "wet_g": 5, "dry_g": 6}, ("dry_g", "6", "below the wet mass of 5 g")),
        (Sample, {"strips": "1"}, ("dry_matter_percent", "", "wet_g and dry_g, or dry_matter_percent")),
        (
            Sample,
            {"strips": "1", "wet_g": 5, "dry_matter_percent": 30},
            ("dry_matter_percent", "30", "wet_g and dry_g, or dry_matter_percent"),
        ),
        (Sample, {"strips": "1+1", "dry_matter_percent": 30}, ("strips", "1+1", "each strip once")),
        (Sample, {"strips": "one", "dry_matter_percent": 30}, ("strips", "one", "strip numbers such as 7 or 7+8")),
        (Event, {"strips": "1", "event": "sown", "method": "b"}, ("method", "b", "one capital letter")),
        (Event, {"strips": "1", "event": "cut_measured", "length_m": 5}, ("width_m", "", "a length and a width")),
        (
            WeatherDay,
            {"day": "2025-05-01", "temperature_min_c": 9, "temperature_max_c": 5},
            ("temperature_min_c", "9", "at most 5"),
        ),
        (WeatherDay, {"day": "1.5.25"}, ("day", "1.5.25", "a date such as 2026-09-14")),
        (
            Sample,
            {"strips": "1", "dry_matter_percent": 30, "replaces": "1"},
            ("replaces", "1", "the id of another record"),
        ),
    ],
)
def test_records_say_what_is_wrong(model, content, told):
    assert one(model, {**BASE, **content}) == told


@pytest.mark.parametrize(
    ("model", "content", "told"),
    [
        (RowPattern, {"kind": "twin"}, ("twin_gap_m", "", "0.02 to less than the row spacing of 0.75 m")),
        (RowPattern, {"twin_gap_m": 0.2}, ("twin_gap_m", "0.2", "no value")),
        (RowPattern, {"kind": "twin", "row_spacing_m": 0.3, "twin_gap_m": 0.4}, ("twin_gap_m", "0.4", "below 0.3")),
        (MachineAccess, {"method": "A", "way": "hire"}, ("price_per_ha", "", "a value")),
        (Prices, {"value_full_year_per_t": 500}, ("value_full_year_per_t", "500", "at most 180")),
    ],
)
def test_sections_say_what_is_wrong(model, content, told):
    assert one(model, content) == told


def test_all_faults_of_a_plan_come_at_once_with_their_paths():
    content = small_trial.plan().model_dump()
    content["methods"][1]["row_pattern"]["twin_gap_m"] = None
    content["layout"] |= {"heading_deg": 400, "blocks": 0}
    content["money"]["machine_access"] = [{"method": "A", "way": "own"}]
    found = {p.field: p.allowed for p in faults(Plan, content)}
    assert found == {
        "methods[1].row_pattern.twin_gap_m": "0.02 to less than the row spacing of 0.75 m",
        "layout.heading_deg": "at least 0, below 360 or one of 'best'",
        "layout.blocks": "1 to 60 or one of 'most'",
        "money.machine_access[0].purchase_price": "a value",
        "money.machine_access[0].years": "a value",
        "money.machine_access[0].area_ha_per_year": "a value",
    }


@pytest.mark.parametrize(
    ("change", "field", "given"),
    [
        (lambda c: c["methods"][1].update(letter="A"), "methods", "A"),
        (lambda c: c["methods"][1].update(baseline=True), "methods", "2"),
        (lambda c: c["methods"][1].update(machine="none"), "methods[1].machine", "none"),
        (lambda c: c["layout"].update(harvester="four"), "layout.harvester", "four"),
        (lambda c: c["machines"][1].update(id="four"), "machines", ""),
    ],
)
def test_parts_of_a_plan_must_agree(change, field, given):
    content = small_trial.plan().model_dump()
    change(content)
    assert (field, given) in [(p.field, p.given) for p in faults(Plan, content)]


def test_limits_are_found_inside_optional_and_nested_fields():
    assert limits_text(Sample, ("dry_matter_percent",)) == "8 to 99"
    assert limits_text(Plan, ("methods", 0, "row_pattern", "row_spacing_m")) == "0.1 to 2"
    assert limits_text(Plan, ("trial", "farm")) == ""
    assert known_place(Plan, ("layout", "blocks", "constrained-int")) == ("layout", "blocks")
    assert [m.__name__ for m in models_in(Plan.model_fields["methods"].annotation)] == ["Method"]


def test_changed_copies_are_checked_again():
    weighing = Weighing.model_validate({**BASE, "load": "L", "gross_kg": 9, "tare_kg": 1})
    assert with_changes(weighing, gross_kg=10).net_kg == 9
    with pytest.raises(ValidationError):
        with_changes(weighing, gross_kg=0.5)
