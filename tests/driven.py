"""Planter logs of known truth for tests: passes driven over the strips of the small trial, written as a table."""

from datetime import datetime, timedelta

import numpy as np

START = datetime(2025, 4, 28, 9, 0)
HEADER = "time,lon,lat,speed_km_per_h,rows_off"


def drive(x, *, start=-20.0, end=320.0, speed=2.0, rows=4):
    """One pass along x metres at a reading a second: x, y, speed [m/s] and rows off, all of them outside the strip."""
    y = np.arange(start, end, speed)
    return np.full_like(y, x), y, np.full_like(y, speed), np.where((y < 0) | (y >= 300), float(rows), 0.0)


def strip_passes(strip, **more):
    """Both passes of a strip of 6 m; strip 1 lies between 6 and 12 m."""
    return drive(6.0 * strip + 1.5, **more), drive(6.0 * strip + 4.5, **more)


def standing(passed, *, at_m, seconds=10):
    """The same pass with a stop."""
    i = int(np.searchsorted(passed[1], at_m))
    x, y, speed, off = (np.insert(c, [i] * seconds, c[i]) for c in passed)
    speed[i : i + seconds] = 0.0
    return x, y, speed, off


def rows_closed(passed, *, first_m, last_m, rows=1.0):
    """The same pass with rows off between two places; all four are a planter lifted."""
    x, y, speed, off = passed
    return x, y, speed, np.where((y >= first_m) & (y < last_m), rows, off)


def table(*passes, start=START, pause_s=600, header=HEADER, clock=True):
    """The passes one after the other as a log file."""
    lines, at = [header], 0.0
    for passed in passes:
        for x, y, speed, off in zip(*passed, strict=True):
            when = (start + timedelta(seconds=at)).isoformat() if clock else f"{at:g}"
            lines.append(f"{when},{9.0 + x / 70_000:.9f},{51.0 + y / 111_000:.9f},{3.6 * speed:.3f},{off:g}")
            at += 1.0
        at += pause_s
    return "\n".join(lines) + "\n"
