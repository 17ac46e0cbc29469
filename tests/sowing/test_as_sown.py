"""What a planter did, from synthetic logs of known truth."""

import numpy as np
import pytest
from tests import small_trial as small

from evenground.sowing.as_sown import PlanterLog, as_sown
from evenground.sowing.joints import joint_effect

DRAW = small.draw()  # strips of 6 m x 300 m side by side, number 1 at x = 6 m
SPEED = 2.0


def drive(x, *, start=-20.0, end=320.0, speed=SPEED, hz=1.0):
    """One pass along x: readings of x, y and speed; rows are off outside the strip."""
    y = np.arange(start, end, speed / hz)
    return np.full_like(y, x), y, np.full_like(y, speed), np.where((y < 0) | (y >= 300), 4.0, 0.0)


def log(*passes, method="A", width=3.0, hz=1.0, clock=None):
    """Several passes one after the other, ten minutes apart."""
    x, y, speed, off = (np.concatenate(c) for c in zip(*passes, strict=True))
    if clock is None:
        clock = np.concatenate([600.0 * i + np.arange(len(p[0])) / hz for i, p in enumerate(passes)])
    lon, lat = 9.0 + x / 70_000, 51.0 + y / 111_000
    return PlanterLog(method, 4, width, clock, lon, lat, speed, off)


def both_passes(strip, **more):
    left = 6.0 * strip
    return drive(left + 1.5, **more), drive(left + 4.5, **more)


def found(the_log, strip):
    return next(s for s in as_sown(the_log, DRAW) if s.strip == strip)


def test_a_strip_sown_as_drawn():
    got = found(log(*both_passes(1)), 1)
    assert (got.drawn, got.sown, got.state) == ("A", "A", "as drawn")
    # the plane is true to 1e-7, the strips' own outlines are laid out with 70 and 111 km a degree: 1 %
    assert got.sown_fraction == pytest.approx(1.0, abs=0.01)
    assert got.speed_m_per_s == pytest.approx(SPEED)
    assert (got.speed_sd_m_per_s, got.stops, got.rows_off_m) == (pytest.approx(0.0), 0, 0.0)
    assert got.overlap_m2 == pytest.approx(0.0, abs=20.0)


def test_strips_of_the_method_that_are_not_in_the_log_are_named():
    got = as_sown(log(*both_passes(1)), DRAW)
    assert {s.strip for s in got} == {s.strip for s in DRAW.strips if s.method == "A"}
    assert {s.state for s in got if s.strip != 1} == {"not in this log"}
    assert next(s for s in got if s.strip == 4).speed_m_per_s is None


def test_the_wrong_strip():
    got = found(log(*both_passes(2)), 2)
    assert (got.drawn, got.sown, got.state) == ("B", "A", "other method")


def test_one_pass_too_far():
    got = found(log(*both_passes(1), both_passes(2)[0]), 2)
    assert got.sown_fraction == pytest.approx(0.5, abs=0.01)
    assert got.state in ("other method", "partly other method")


def test_half_a_pass():
    assert found(log(drive(7.5)), 1).state in ("as drawn", "partly")
    assert found(log(drive(7.5, end=100.0)), 1).state == "partly"


def test_the_edge_of_a_pass_is_no_wrong_strip():
    # 10 cm over the line: 1.7 % of the neighbour
    assert [s.strip for s in as_sown(log(drive(10.6)), DRAW) if s.state != "not in this log"] == [1]


def test_speeds():
    slow, fast = drive(7.5, speed=1.5), drive(10.5, speed=2.5)
    got = found(log(slow, fast), 1)
    # 200 s at 1.5 and 120 s at 2.5 m/s; edges of the strip cut a second here and there
    assert got.speed_m_per_s == pytest.approx(600 / 320, rel=0.01)
    assert got.speed_sd_m_per_s == pytest.approx((200 / 320 * 120 / 320) ** 0.5, rel=0.02)


def test_stops():
    x, y, speed, off = drive(7.5)
    middle = len(y) // 2
    parts = [np.insert(c, [middle] * 10, c[middle]) for c in (x, y, speed, off)]
    parts[2][middle : middle + 10] = 0.0
    clock = np.arange(len(parts[0]), dtype=float)
    got = found(log(tuple(parts), clock=clock), 1)
    assert got.stops == 1
    assert got.speed_m_per_s == pytest.approx(SPEED, rel=0.02)


def test_a_row_off_and_a_lifted_planter():
    x, y, speed, off = drive(7.5)
    off = off + np.where((y >= 100) & (y < 150), 1.0, 0.0)
    off = np.where((y >= 200) & (y < 230), 4.0, off)
    got = found(log((x, y, speed, off)), 1)
    # one row over 50 m, all rows over 30 m; readings every 2 m, and degrees rounded as above
    assert got.rows_off_m == pytest.approx(50.0, abs=2.5)
    assert got.lifted_m == pytest.approx(30.0, abs=2.5)


def test_an_overlap():
    # passes 2.5 m apart with a width of 3 m: half a metre over 300 m
    got = found(log(drive(7.5), drive(10.0)), 1)
    assert got.overlap_m2 == pytest.approx(150.0, rel=0.03)


def test_passes_are_not_joined_across_a_pause():
    # from the end of pass 1 to the start of pass 2 lie 340 m in ten minutes: no third pass
    assert found(log(*both_passes(1)), 1).lifted_m == pytest.approx(0.0, abs=3.0)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"seconds": np.array([1.0, 0.0])}, "order of time"),
        ({"lon": np.array([9.0])}, "same length"),
        ({"lat": np.array([51.0, np.nan])}, "finite"),
        ({"rows_off": np.array([0.0, 5.0])}, "between 0 and the 4 rows"),
        ({"rows_off": np.array([-1.0, 0.0])}, "between 0 and the 4 rows"),
    ],
)
def test_what_is_no_log(change, says):
    two = {n: np.zeros(2) for n in ("seconds", "lon", "lat", "speed_m_per_s", "rows_off")}
    with pytest.raises(ValueError, match=says):
        PlanterLog(**{"method": "A", "rows": 4, "width_m": 3.0, **two, **change})


def test_joints():
    # eight rows at 75 cm: 6 m; joints of 70 and 80 cm (both met on farms) cancel
    assert joint_effect([0.70, 0.80], 0.75, 8).area_factor == pytest.approx(1.0)
    assert joint_effect([0.80], 0.75, 4, joints_in_cut=2).area_factor == pytest.approx(3.1 / 3.0)
    with pytest.raises(ValueError, match="above 0"):
        joint_effect([], 0.75, 8)


def test_entries_are_plain():
    assert found(log(*both_passes(1)), 1).as_dict()["state"] == "as drawn"
