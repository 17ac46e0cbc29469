"""``evenground harvest`` on a day that is not over and not clean: faulty lines are named, the rest is computed."""

import json
import sys

import pytest
import tomlkit
from tests import small_trial as small
from typer.testing import CliRunner

from evenground.adapters.trial_folder import TrialFolder
from evenground.cli.app import build, main

runner = CliRunner()
WEIGHED = "id,time,scale,slip,trailer,gross_kg,tare_kg\n"


@pytest.fixture
def folder(tmp_path):
    content = small.plan().model_dump(exclude_none=True, exclude_defaults=True, mode="json")
    content["format"] = 1
    made = TrialFolder.create(tmp_path / "piece", tomlkit.dumps(content))
    made.append_draw(small.draw())
    made.append_records([small.sample(n, 33.0) for n in range(1, 17)])
    return made


def write(folder, kind, text):
    (folder.path / f"records/{kind}.csv").write_text(text, encoding="utf-8")


def call(folder, *words):
    arguments = ["harvest", str(folder.path), *words]
    return runner.invoke(build(arguments), arguments)


def loads(*rows):
    return "id,time,strips,trailer\n" + "".join(f"L{n},2025-09-09T{t},{s},{k}\n" for n, t, s, k in rows)


def slips(*rows):
    return WEIGHED + "".join(f"W{n},2025-09-09T{t},yard,{100 + n},{k},{g},{e}\n" for n, t, k, g, e in rows)


def test_a_slip_without_load_is_asked_as_a_farmer_would(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:05", 7, 2), (3, "15:00", 8, 1)))
    write(
        folder,
        "weighings",
        slips(
            (1, "13:25", 1, 14000, 8000),
            (2, "14:30", 2, 14000, 8100),
            (3, "14:32", 3, 15000, 8900),
            (4, "15:25", 1, 14000, 8010),
        ),
    )
    got = call(folder)
    assert got.exit_code == 0, got.output
    assert "Strip 7: slip without load at 14:32, trailer 3?\n" in got.stdout
    assert "Strip 16: no load of strip 16 is recorded." in got.stdout


def test_joins_are_shown_with_their_reason_and_how_to_correct_them(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    text = call(folder, "--joins").stdout
    assert "by trailer 1 and time, 25 min after filling" in text
    assert "gross minus tare" in text
    assert "To correct a join" in text
    assert "To correct a join" not in call(folder).stdout


def test_faulty_lines_are_named_and_the_rest_of_the_day_is_computed(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:05", 7, 2), (3, "15:00", 99, 1)))
    write(
        folder,
        "weighings",
        slips((1, "13:25", 1, 14000, 8000), (2, "14:30", 2, 7000, 8100)),
    )
    got = call(folder, "--json")
    assert got.exit_code == 0, got.output
    data = json.loads(got.stdout)
    state = {s["strip"]: s["state"] for s in data["strips"]}
    assert (state[6], state[7]) == ("weighed", "missing")
    assert {(p["file"], p["row"]) for p in data["problems"]} == {("records/weighings.csv", 3), ("records/loads.csv", 4)}
    assert "swapped" in got.stderr


def test_strips_of_an_unreadable_load_stay_missing(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "25:05", 6, 2)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    strip = json.loads(call(folder, "--json").stdout)["strips"][5]
    assert strip["state"] == "missing"
    assert "could not be read" in " ".join(strip["notes"])


def test_a_file_that_is_no_table_and_a_broken_plan_are_refused(folder):
    write(folder, "loads", "time;strips\n2025-09-09;1\n")
    got = call(folder)
    assert got.exit_code != 0


def test_json_carries_joins_errors_and_samples(folder):
    write(folder, "loads", loads((1, "13:00", 6, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000)))
    data = json.loads(call(folder, "--json").stdout)
    assert data["joins"][0] == {
        "loads": ["L1"],
        "weighing": "W1",
        "net_kg": 6000.0,
        "how": "by trailer 1 and time, 25 min after filling",
        "mass": "gross minus tare",
        "fault": "",
        "doubts": [],
    }
    assert data["common_errors"] == []
    assert data["samples_wanted"]["per_strip"] >= 1


@pytest.mark.parametrize(("cell", "words"), [("330", "per mille"), ("0.33", "fraction"), ("-33", "outside")])
def test_dry_matter_that_cannot_be_is_asked_and_others_stay(folder, cell, words):
    path = folder.path / "records/samples.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    column = lines[0].split(",").index("dry_matter_percent")
    cells = lines[7].split(",")
    cells[column] = cell
    path.write_text("\n".join([*lines[:7], ",".join(cells), *lines[8:]]) + "\n", encoding="utf-8")
    write(folder, "loads", loads((1, "13:00", 6, 1), (2, "14:00", 7, 1)))
    write(folder, "weighings", slips((1, "13:25", 1, 14000, 8000), (2, "14:25", 1, 14000, 8010)))
    got = call(folder, "--json")
    state = {s["strip"]: s["state"] for s in json.loads(got.stdout)["strips"]}
    assert (state[6], state[7]) == ("weighed", "missing")
    assert words in got.stderr


def with_field(folder):
    corners = [(0, -20), (110, -20), (110, 320), (0, 320), (0, -20)]
    ring = [[9.0 + x / 70_000, 51.0 + y / 111_000] for x, y in corners]
    shape = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    (folder.path / "field.geojson").write_text(json.dumps(shape), encoding="utf-8")


def test_the_papers_of_the_day_are_written_and_named(folder, tmp_path):
    with_field(folder)
    path = tmp_path / "pack.pdf"
    got = call(folder, "--pack", str(path))
    assert got.exit_code == 0, got.output
    assert got.stdout == f"{path}\n"
    assert path.read_bytes().startswith(b"%PDF-")
    again = call(folder, "--pack", str(path), "--json")
    assert json.loads(again.stdout) == {"files": [str(path)]}


def test_papers_can_be_made_while_records_are_faulty(folder, tmp_path):
    with_field(folder)
    write(folder, "loads", loads((1, "13:00", 99, 1)))
    got = call(folder, "--pack", str(tmp_path / "pack.pdf"))
    assert got.exit_code == 0, got.output
    assert "left out: " in got.stderr
    assert "not laid out" in got.stderr or "99" in got.stderr


def status(capsys, monkeypatch, *words):
    """Exit status and what stands on standard error, through the door everybody uses."""
    monkeypatch.setattr(sys, "argv", ["evenground", "harvest", *words])
    with pytest.raises(SystemExit) as left:
        main()
    return left.value.code, capsys.readouterr().err


def test_papers_that_are_no_pdf_are_refused_in_words(folder, tmp_path, capsys, monkeypatch):
    with_field(folder)
    code, said = status(capsys, monkeypatch, str(folder.path), "--pack", str(tmp_path / "pack.docx"))
    assert code == 2
    assert "a name ending in .pdf" in said
    assert [p.name for p in tmp_path.iterdir()] == ["piece"]


def test_papers_without_a_field_are_refused_in_words(folder, tmp_path, capsys, monkeypatch):
    code, said = status(capsys, monkeypatch, str(folder.path), "--pack", str(tmp_path / "pack.pdf"))
    assert code == 2
    assert "field.geojson" in said
    assert [p.name for p in tmp_path.iterdir()] == ["piece"]


DAMAGE = "id,time,cause,by_method,outline\n"


def ring(left, right, low, high):
    corners = [(left, low), (right, low), (right, high), (left, high)]
    return "; ".join(f"{9.0 + x / 70_000:.7f} {51.0 + y / 111_000:.7f}" for x, y in corners)


def test_damage_walked_round_is_read_from_a_table(folder):
    write(folder, "damage", DAMAGE + f'D1,2025-08-01,boar,no,"{ring(36, 42, 100, 140)}"\n')
    data = json.loads(call(folder, "--json").stdout)
    assert [s["strip"] for s in data["strips"] if any("boar" in n for n in s["notes"])] == [6]
    (note,) = [n for n in data["strips"][5]["notes"] if "boar" in n]
    # 40 of 300 m of a cut of 1350 m2
    assert note == "damage: boar on 180 m2, all lost there"


def test_an_outline_that_is_none_is_named_with_its_line(folder):
    write(folder, "damage", DAMAGE + 'D1,2025-08-01,boar,no,"9.0 51.0; 9.1 51.0"\n')
    got = call(folder, "--json")
    assert got.exit_code == 0, got.output
    (problem,) = json.loads(got.stdout)["problems"]
    assert (problem["file"], problem["row"], problem["field"]) == ("records/damage.csv", 2, "outline")
    assert "at least three corners" in problem["message"]


def test_cobs_and_ripeness_are_read_from_a_table(folder):
    head = "id,time,strips,plants,cobs,cobless_plants,whole_fresh_g,cobs_fresh_g,whole_dry_matter_percent\n"
    rows = [
        f"P{s.strip},2025-09-02,{s.strip},10,9,1,6000,2100,{33.0 if s.method == 'B' else 29.5}"
        for s in small.draw().strips
    ]
    write(folder, "cut_plants", head + "\n".join(rows) + "\n")
    said = call(folder).stdout
    assert "Cob share, fresh, cobs without husk: A 35 % (8 strips), B 35 % (8 strips)." in said
    assert "Cobs per plant: A 0.9 (8 strips)" in said
    data = json.loads(call(folder, "--json").stdout)
    assert {f["name"]: f["by_strip"]["1"] for f in data["cut_plants"]}["cobless plants"] == 10.0
    assert "The methods were not equally ripe: dry matter of whole plants on 2025-09-02 was A 29.5 %, B 33.0 %" in said


LAB = "id,time,strips,lab,starch_percent\n"


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("<2.0", "only that it lies below something"),
        ("> 40", "only that it lies above something"),
        ("31.0*", "a mark or footnote stands beside the number"),
        ("31.0 1)", "a mark or footnote stands beside the number"),
        ("31.0a", "a mark or footnote stands beside the number"),
        ("n.d.", "not a number"),
    ],
)
def test_what_laboratories_write_beside_a_number_is_named_and_the_rest_read(folder, cell, words):
    rows = [f"V{n},2025-09-20,{n},one,{cell if n == 7 else 31.5}" for n in range(1, 17)]
    write(folder, "lab_values", LAB + "\n".join(rows) + "\n")
    got = call(folder, "--json")
    assert got.exit_code == 0, got.output
    (problem,) = json.loads(got.stdout)["problems"]
    assert (problem["row"], problem["field"], problem["given"]) == (8, "starch_percent", cell)
    assert words in problem["message"]


@pytest.mark.parametrize(
    "line",
    [
        "* below the limit of quantification,,,,",
        "* below the limit, values by NIR,,,",
        ",,,analysed as received,",
        "1) mean of two",
    ],
)
def test_a_footnote_under_a_laboratory_sheet_is_one_sentence(folder, line):
    rows = [f"V{n},2025-09-20,{n},one,31.5" for n in range(1, 17)]
    write(folder, "lab_values", LAB + "\n".join([*rows, line]) + "\n")
    got = call(folder, "--json")
    assert got.exit_code == 0, got.output
    (problem,) = json.loads(got.stdout)["problems"]
    assert (problem["row"], problem["field"]) == (18, "")
    assert "words and no record" in problem["message"]


@pytest.mark.parametrize("line", ["V17,,,one,31.5", "V17,2025-09-20,,,", "V17,,17,two labs,"])
def test_a_record_with_gaps_is_no_footnote(folder, line):
    write(folder, "lab_values", LAB + line + "\n")
    problems = json.loads(call(folder, "--json").stdout)["problems"]
    assert problems
    assert all(p["field"] for p in problems)
