"""The plan as TOML: comments, order and unknown keys survive; units convert; faults have their place."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests import any_trials, small_trial

from evenground.adapters.plan_file import change_plan_text, plan_text, read_plan
from evenground.basis.errors import InputError

EVERY_TIME = settings(max_examples=50, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
TEXT = plan_text(small_trial.plan())


def read(text):
    return read_plan(text.encode())


@EVERY_TIME
@given(any_trials.plans())
def test_a_plan_written_and_read_is_the_same(plan):
    found = read(plan_text(plan))
    assert found.problems == ()
    assert found.notes == ()
    assert found.plan == plan


comments = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=20)


@EVERY_TIME
@given(st.data())
def test_comments_order_and_unknown_keys_survive_a_change(data):
    lines = TEXT.splitlines()
    for n in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(lines)))
        lines.insert(at, data.draw(st.sampled_from(["# {}", f"own_{n} = 1 # {{}}", ""])).format(data.draw(comments)))
    text = "\n".join(lines) + "\n"
    seeds = data.draw(any_trials.numbers(4, 15))
    changed = change_plan_text(text, {"layout.guard_rows": 3, "methods[1].seeds_per_m2": seeds})
    before, after = text.splitlines(), changed.splitlines()
    assert len(before) == len(after)
    different = [(b, a) for b, a in zip(before, after, strict=True) if b != a]
    assert {b.split(" = ")[0] for b, _ in different} <= {"guard_rows", "seeds_per_m2"}
    found = read(changed)
    assert found.plan is not None
    assert found.plan.layout.guard_rows == 3
    assert found.plan.methods[1].seeds_per_m2 == seeds
    assert len(found.notes) == sum(line.startswith("own_") for line in lines)


def swap(old, new):
    assert old in TEXT
    return TEXT.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "path", "value"),
    [
        ("seeds_per_m2 = 9.5", "seeds_per_ac = 38445", ("methods", 0, "seeds_per_m2"), 9.50),
        ("seeds_per_m2 = 9.5", "seeds_per_ha = 95000", ("methods", 0, "seeds_per_m2"), 9.5),
        ("row_spacing_m = 0.75", "row_spacing_in = 30", ("methods", 0, "row_pattern", "row_spacing_m"), 0.762),
        ("row_spacing_m = 0.75", "row_spacing_cm = 75", ("methods", 0, "row_pattern", "row_spacing_m"), 0.75),
        ("expected_t_per_ha = 13.0", "expected_dt_per_ha = 130", ("outcome", "expected_t_per_ha"), 13.0),
        ("speed_km_per_h = 8.0", "speed_mi_per_h = 5", ("methods", 0, "speed_km_per_h"), 8.04672),
        ("largest_chance_of_loss = 0.2", "largest_chance_of_loss = 0.1", ("advice", "largest_chance_of_loss"), 0.1),
    ],
)
def test_units_of_every_region_are_read(old, new, path, value):
    found = read(swap(old, new))
    assert found.problems == ()
    assert found.notes == ()
    here = found.plan.model_dump()
    for part in path:
        here = here[part]
    # 38445 seeds on 4046.8564224 m2 are 9.49997 per m2; all others are exact in the decimals given.
    assert here == pytest.approx(value, rel=1e-5 if "ac" in new.split(" = ")[0].split("_") else 0, abs=0)


def faults(text):
    found = read(text)
    assert found.plan is None
    return [(p.file, p.row, p.field, p.given, p.allowed) for p in found.problems]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "seeds_per_m2 = 9.5",
            "seeds_per_ac = 900000",
            (None, "methods[0].seeds_per_ac", "900000", "2 to 20 (as seeds_per_m2)"),
        ),
        ("seeds_per_m2 = 9.5", "seeds_per_m2 = 900", (None, "methods[0].seeds_per_m2", "900", "2 to 20")),
        ("seeds_per_m2 = 9.5", "seeds_per_m2 = nan", (None, "methods[0].seeds_per_m2", "nan", "2 to 20")),
        (
            "seeds_per_m2 = 9.5",
            "seeds_per_ac = inf",
            (None, "methods[0].seeds_per_ac", "inf", "2 to 20 (as seeds_per_m2)"),
        ),
        ("seeds_per_m2 = 9.5", 'seeds_per_m2 = "many"', (None, "methods[0].seeds_per_m2", "many", "2 to 20")),
        (
            "seeds_per_m2 = 9.5",
            "seeds_per_m2 = 9.5\nseeds_per_ha = 95000",
            (None, "methods[0].seeds_per_m2", "seeds_per_m2, seeds_per_ha", "one of them"),
        ),
        ("season = 2025\n", "", (None, "trial.season", "", "1990 to 2100")),
        ('letter = "B"', 'letter = "b"', (None, "methods[1].letter", "b", "one capital letter")),
        ("season = 2025", "season = ", (3, "column 10", "", 'lines such as key = "text"')),
    ],
)
def test_faults_name_file_field_given_allowed(old, new, told):
    if told[0] is not None:
        (found,) = faults(swap(old, new))
        assert found[:1] == ("trial.toml",)
        assert found[1] is not None
        assert found[4] == told[3]
    else:
        assert faults(swap(old, new)) == [("trial.toml", *told)]


def test_all_faults_come_at_once():
    text = swap("season = 2025", "season = 1").replace("guard_rows = 1", "guard_rows = 99").replace('"EUR"', '""')
    assert [f[2] for f in faults(text)] == ["trial.season", "layout.guard_rows", "money.currency"]


def test_unknown_keys_are_noted_with_the_nearest_known_one():
    found = read(swap("guard_rows = 1", "gard_rows = 1\nmoon = 3"))
    assert found.problems == ()
    assert found.notes == (
        "trial.toml: key layout.gard_rows is kept but not read. Is guard_rows meant?",
        "trial.toml: key layout.moon is kept but not read.",
    )


def test_a_ton_that_could_be_three_things_is_asked():
    found = faults(swap("expected_t_per_ha = 13.0", "expected_ton_per_ac = 6"))
    assert [f[2] for f in found] == ["outcome.expected_ton_per_ac"]


def test_file_styles_are_read_and_checked():
    good = TEXT + '\n[files."records/loads.csv"]\nnumber_style = "1.234,5"\ndate_style = "DD/MM/YYYY"\n'
    style = read(good).files["records/loads.csv"]
    assert (style.number_style.name, style.date_style) == ("1.234,5", "DD/MM/YYYY")
    bad = TEXT + '\n[files."records/loads.csv"]\nnumber_style = "german"\ndate_style = "yes"\n'
    assert [f[2:4] for f in faults(bad)] == [
        ("files.records/loads.csv.number_style", "german"),
        ("files.records/loads.csv.date_style", "yes"),
    ]
    assert faults("files = 3\n" + TEXT)[0][2] == "files"


@pytest.mark.parametrize(
    "data",
    [
        b"\xff\xfe\x00",
        b"x" * 1_000_001,
        b"a = " + b"[" * 5000,
        b"a = " + b"1" * 5000,
        b"",
        b"a = [1",
        b"a = 1\na = 2\n",
    ],
)
def test_what_is_no_plan_gives_problems_and_no_crash(data):
    found = read_plan(data)
    assert found.plan is None
    assert found.problems


def test_a_byte_order_mark_is_no_fault():
    assert read_plan(b"\xef\xbb\xbf" + TEXT.encode()).plan == small_trial.plan()


def test_windows_line_ends_are_no_fault():
    assert read_plan(TEXT.replace("\n", "\r\n").encode()).plan == small_trial.plan()


def test_changes_take_out_and_put_in_and_refuse_what_is_not_there():
    assert change_plan_text("a = 1\nb = 2\n", {"a": None}) == "b = 2\n"
    assert "[layout]\nblocks = 8" in change_plan_text("a = 1\n", {"layout.blocks": 8})
    with pytest.raises(InputError, match="no such key"):
        change_plan_text(TEXT, {"methods[9].depth_cm": 3})
    with pytest.raises(InputError, match="TOML"):
        change_plan_text("a = ", {"a": 1})
