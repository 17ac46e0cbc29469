"""The calendar against RFC 5545, read with a reader written here from the same text."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

from tests import small_trial
from tests.adapters.export import drawn_trial as trial

from evenground.adapters.export.calendar import calendar, due, escaped, folded, with_agenda
from evenground.adapters.hand_over import hand_over
from evenground.basis.observations import Records, WeatherDay
from evenground.basis.store import Stored
from evenground.season.agenda import Task

SOWN, CUT = datetime(2026, 4, 28, 9), datetime(2026, 9, 15, 8)
EVENTS = (
    small_trial.event(1, "sown", when=SOWN),
    small_trial.event(2, "sown", 2, when=datetime(2026, 4, 29, 7)),
    small_trial.event(1, "harvested", 3, when=CUT),
)


def entries(data):
    """Unfold (3.1), split into components, undo escapes (3.3.11)."""
    text = re.sub(r"\r\n[ \t]", "", data.decode())
    out, here = [], None
    for line in text.split("\r\n")[:-1]:
        name, value = line.split(":", 1)
        if name == "BEGIN" and value in ("VEVENT", "VTODO"):
            here = {"kind": value}
        elif name == "END" and here is not None:
            out.append(here)
            here = None
        elif here is not None:
            assert name not in here, f"{name} twice"
            here[name] = re.sub(r"\\([,;\\])", r"\1", value.replace("\\n", "\n"))
    return out


def test_lines_end_and_fold_as_the_standard_says():
    data = calendar(trial.plan(), trial.draw(), EVENTS)
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    assert data.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")


def test_folding_cuts_no_letter_and_loses_nothing():
    line = "SUMMARY:" + "Mähdrescher für Körner – " * 12
    pieces = folded(line)
    assert all(len(piece.encode()) <= 75 for piece in pieces)
    assert "".join([pieces[0], *(p[1:] for p in pieces[1:])]) == line


def test_escapes():
    assert escaped("a\\b;c,d\ne") == "a\\\\b\\;c\\,d\\ne"


def test_every_entry_has_its_own_key_and_a_stamp():
    found = entries(calendar(trial.plan(), trial.draw(), EVENTS))
    assert len({one["UID"] for one in found}) == len(found) == len(due(trial.plan(), EVENTS))
    assert {one["DTSTAMP"] for one in found} == {"20260301T093000Z"}
    assert all(one["SUMMARY"] and one["DESCRIPTION"] for one in found)


def test_known_days_are_whole_days_and_end_the_day_after():
    found = {one["SUMMARY"]: one for one in entries(calendar(trial.plan(), trial.draw(), EVENTS))}
    sown = next(one for name, one in found.items() if "sow the strips" in name)
    assert (sown["DTSTART;VALUE=DATE"], sown["DTEND;VALUE=DATE"]) == ("20260428", "20260430")
    cut = next(one for name, one in found.items() if "harvest and weigh" in name)
    assert (cut["DTSTART;VALUE=DATE"], cut["DTEND;VALUE=DATE"]) == ("20260915", "20260916")


def test_counting_follows_sowing_by_ten_to_twenty_one_days():
    count = next(one for one in due(trial.plan(), EVENTS) if one.key == "count")
    assert (count.first, count.last) == (date(2026, 5, 8), date(2026, 5, 20))


def test_without_records_there_is_no_date_at_all():
    data = calendar(trial.plan(), trial.draw(), ())
    assert b"DTSTART" not in data
    assert {one["kind"] for one in entries(data)} == {"VTODO"}


def test_grain_needs_no_plant_samples_beforehand():
    plan = trial.plan()
    grain = plan.model_copy(update={"outcome": plan.outcome.model_copy(update={"product": "grain"})})
    assert "sample" not in {one.key for one in due(grain, ())}


def test_the_same_trial_gives_the_same_bytes():
    assert calendar(trial.plan(), trial.draw(), EVENTS) == calendar(trial.plan(), trial.draw(), EVENTS)


AGENDA = (
    Task("count", "Count plants", "At three leaves.", date(2026, 5, 20), date(2026, 5, 26)),
    Task("dry_matter", "Take dry-matter samples", "A week before harvest.", date(2026, 9, 2), date(2026, 9, 9)),
    Task("harvest", "Harvest window", "32 % dry matter.", date(2026, 9, 9), date(2026, 9, 16)),
    Task("flowering", "Note the days of flowering", "By strip number.", date(2026, 7, 14), None),
    Task("lodging", "Judge lodging", "By strip number.", None, None),
)


def test_the_season_s_agenda_gives_dates_that_the_year_cannot():
    sown = EVENTS[:2]
    found = {one.key: one for one in with_agenda(trial.plan(), sown, AGENDA)}
    assert (found["count"].first, found["count"].last) == (date(2026, 5, 20), date(2026, 5, 26))
    assert (found["sample"].first, found["harvest"].first) == (date(2026, 9, 2), date(2026, 9, 9))
    assert "finish a block before a break" in found["harvest"].why
    assert found["season-flowering"].first == date(2026, 7, 14)
    # nobody can act on what has no day; what has one stands there once
    assert not {"season-lodging", "season-count", "season-harvest"} & found.keys()
    assert found["agree"].first is None


def test_a_harvest_that_is_over_goes_before_its_forecast():
    found = {one.key: one for one in with_agenda(trial.plan(), EVENTS, AGENDA)}
    assert found["harvest"].first == date(2026, 9, 15)


def test_the_export_takes_the_agenda_where_weather_is_recorded():
    """Temperatures of 12 to 28 degrees all summer: the crop's heat gives days for the sampling."""
    plan, draw = trial.plan(), trial.draw()
    season = {"season": plan.season.model_copy(update={"earliness_group": "early"})}
    plan = plan.model_copy(update={**season, "trial": plan.trial.model_copy(update={"season": 2026})})
    days = [date(2026, 4, 20) + timedelta(days=i) for i in range(150)]
    weather = [
        WeatherDay(
            id=f"D{d}",
            time=datetime(d.year, d.month, d.day, 20),
            day=d,
            rain_mm=1.0,
            # no two days alike: a thermometer that stands still is doubted
            temperature_min_c=12.0 + 0.7 * (i % 5),
            temperature_max_c=23.0 + 0.9 * (i % 7),
        )
        for i, d in enumerate(days)
    ]
    sown = [small_trial.event(s.strip, "sown", when=SOWN) for s in draw.strips]
    bare, warm = (
        entries(
            hand_over(
                Stored(plan, trial.field(), (draw,), Records(events=tuple(sown), weather=tuple(w)), "a", "b"),
                "ics",
                version="test",
            )["trial.ics"]
        )
        for w in ((), weather)
    )
    sampling = next(one for one in bare if "sample plants" in one["SUMMARY"])
    assert sampling["kind"] == "VTODO"
    sampling = next(one for one in warm if "sample plants" in one["SUMMARY"])
    assert sampling["kind"] == "VEVENT"
    assert "20260715" < sampling["DTSTART;VALUE=DATE"] < "20261031"
    assert len({one["UID"] for one in warm}) == len(warm) > len(bare)
