"""A terminal's time log: bytes written by hand, the same passes as a table, and everything that cannot be."""

import zipfile

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import driven, time_logs
from tests import small_trial as small

from evenground.adapters.planter_log import digest_of, read_planter_log, read_trial_log
from evenground.adapters.time_log import read_time_log, speed_by_places
from evenground.adapters.time_log_files import is_time_log
from evenground.basis.errors import InputError
from evenground.sowing.as_sown import as_sown

FOUR, DRAW = small.plan().machine("four"), small.draw()
CONDENSED, STATE, COUNT, SPEED = 161, 141, 12, 397


def read(path):
    return read_time_log(path, "A", FOUR)


def faults(path):
    with pytest.raises(InputError) as caught:
        read(path)
    return caught.value.problems


def tried(path):
    """The log, or what is wrong with it."""
    try:
        return read(path), ()
    except InputError as error:
        return None, error.problems


def test_a_record_spelt_out_byte_by_byte(tmp_path):
    # 09:00:00 = 32 400 000 ms = 01EE6280; 28 April 2025 = day 16 554 = 40AA; 51.0 deg = 510 000 000 = 1E65FB80;
    # 9.0 deg = 90 000 000 = 055D4A80; fix 4; one value: number 0, 2000 mm/s = 7D0; all low byte first.
    first = bytes.fromhex("8062EE01 AA40 80FB651E 804A5D05 04 01 00 D0070000".replace(" ", ""))
    then = bytes.fromhex("6866EE01 AA40 80FB651E 804A5D05 04 00".replace(" ", ""))  # one second later, nothing new
    log = read(time_logs.write(tmp_path, time_logs.header((SPEED, "DET-1")), first + then))
    assert log.start == driven.START
    assert log.seconds.tolist() == [0.0, 1.0]
    assert log.lat == pytest.approx([51.0] * 2, abs=1e-12)
    assert log.lon == pytest.approx([9.0] * 2, abs=1e-12)
    assert log.speed_m_per_s.tolist() == [2.0, 2.0]


def test_the_same_passes_as_table_and_as_time_log_say_the_same(tmp_path):
    left = driven.standing(driven.rows_closed(driven.drive(7.5), first_m=100, last_m=150), at_m=60)
    right = driven.rows_closed(driven.drive(10.5), first_m=200, last_m=230, rows=4.0)
    table = tmp_path / "log.csv"
    table.write_text(driven.table(left, right))
    (plain,) = as_sown(read_planter_log(table, "A", FOUR), DRAW)[:1]
    (found,) = as_sown(read(time_logs.write(tmp_path, *time_logs.logged(left, right))), DRAW)[:1]
    assert (
        (found.state, found.stops, found.rows_off) == (plain.state, plain.stops, plain.rows_off) == ("as drawn", 1, 1)
    )
    # places are steps of 1e-7 degrees, about a centimetre
    for name in ("rows_off_m", "lifted_m", "speed_m_per_s", "speed_sd_m_per_s"):
        assert getattr(found, name) == pytest.approx(getattr(plain, name), rel=1e-3, abs=0.02)
    assert found.seeds_per_m2 == pytest.approx(8.5)
    assert plain.seeds_per_m2 is None


def test_without_a_speed_it_is_the_way_between_the_places(tmp_path):
    log = read(time_logs.write(tmp_path, *time_logs.logged(driven.drive(7.5), speed=False)))
    # 2 m/s driven; two places of 1e-7 degrees are off by 1.6 cm together at most
    assert log.speed_m_per_s[:-1] == pytest.approx(np.full(log.seconds.size - 1, 2.0), rel=0.01)
    assert speed_by_places(np.array([0.0, 0.0]), np.array([9.0, 9.1]), np.array([51.0, 51.0])).tolist() == [0.0, 0.0]


def test_sections_share_the_rows_and_the_master_state_goes_first(tmp_path):
    half_on = 0b1101 | (1 << 4) | (0b10 << 6) | sum(3 << (2 * k) for k in range(4, 16))  # on, none, on, error, none ...
    word = half_on - (1 << 32)
    values = ((STATE, "DET-2"), (CONDENSED, "DET-2"))
    body = b"".join(
        time_logs.record(t, 9.0, 51.0, logged)
        for t, logged in ((0, ()), (1, [(0, 1)]), (2, [(1, word)]), (3, [(0, 0)]), (4, [(0, 1)]))
    )
    log = read(time_logs.write(tmp_path, time_logs.header(*values), body))
    # nothing said yet; planter on, sections unsaid; two of three sections on, the third in error; lifted; on again
    assert log.rows_off == pytest.approx([4, 4, 4 / 3, 4, 4 / 3])


def test_sections_that_log_their_own_state_need_the_device(tmp_path):
    values = ((STATE, "DET-2"), (STATE, "DET-3"), (STATE, "DET-4"))
    body = time_logs.record(0, 9.0, 51.0, [(0, 1), (1, 1), (2, 0)]) + time_logs.record(1, 9.0, 51.0, [(2, 1)])
    path = time_logs.write(tmp_path / "TASKDATA", time_logs.header(*values), body)
    assert "nothing says which part is a section" in faults(path)[0].message
    (path.parent / "TASKDATA.XML").write_text(time_logs.DEVICE)
    assert read(path).rows_off.tolist() == [2.0, 0.0]


def test_a_log_that_says_nothing_of_sections_counts_as_sowing(tmp_path):
    body = time_logs.record(0, 9.0, 51.0) + time_logs.record(1, 9.0, 51.0)
    assert not read(time_logs.write(tmp_path, time_logs.header((SPEED, "DET-1")), body)).rows_off.any()


def test_readings_without_a_place_are_left_out(tmp_path):
    body = b"".join(time_logs.record(t, 9.0, 51.0, fix=fix) for t, fix in enumerate((4, 0, 1, 15, 14, 2)))
    assert read(time_logs.write(tmp_path, time_logs.header(), body)).seconds.tolist() == [0.0, 2.0, 5.0]


def test_an_attribute_with_a_value_holds_for_all_records(tmp_path):
    head = time_logs.header(place='A="" B="" C="" D="1" E="" F="" G="" H="" I=""')
    body = b"".join(
        time_logs.record(t, 9.0, 51.0)[:14] + b"\x10\x27\0\0" + b"\x14\0" * 2 + b"\x09" + b"\0" * 6 + b"\0"
        for t in (0, 1)
    )
    assert read(time_logs.write(tmp_path, head, body)).lon == pytest.approx([9.0, 9.0])


def test_a_folder_of_logs_is_one_log_and_an_archive_of_it_too(tmp_path):
    folder = tmp_path / "TASKDATA"
    head, body = time_logs.logged(driven.drive(7.5))
    time_logs.write(folder, head, body, "TLG00002")
    later = b"".join(time_logs.record(60_000 + t, 9.0, 51.0, [(0, 0)]) for t in range(3))
    time_logs.write(folder, head, later, "TLG00001")
    (folder / "TASKDATA.XML").write_text(time_logs.DEVICE)
    whole, alone = read(folder), read(folder / "TLG00002.XML")
    assert whole.seconds.size == alone.seconds.size + 3
    assert read(folder / "TASKDATA.XML").seconds.tolist() == whole.seconds.tolist()
    packed = tmp_path / "stick.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in folder.iterdir():
            archive.write(file, f"TASKDATA/{file.name}")
    assert read(packed).seconds.tolist() == whole.seconds.tolist()
    assert digest_of(packed) == digest_of(folder) != digest_of(folder / "TLG00002.BIN")


def test_the_same_log_in_two_folders_of_an_archive(tmp_path):
    head, body = time_logs.logged(driven.drive(7.5))
    path = tmp_path / "stick.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for folder in "ab":
            archive.writestr(f"{folder}/TLG00001.XML", head)
            archive.writestr(f"{folder}/TLG00001.BIN", body)
    assert "twice" in faults(path)[0].message


def test_two_logs_of_the_same_time(tmp_path):
    head, body = time_logs.logged(driven.drive(7.5))
    for name in ("TLG00001", "TLG00002"):
        time_logs.write(tmp_path, head, body, name)
    assert "same time" in faults(tmp_path)[0].message


def test_half_a_log_and_none(tmp_path):
    path = time_logs.write(tmp_path / "a", *time_logs.logged(driven.drive(7.5)))
    path.with_suffix(".BIN").unlink()
    assert [p.file for p in faults(path)] == ["TLG00001.BIN"]
    (tmp_path / "b").mkdir()
    assert "no time log" in faults(tmp_path / "b")[0].message
    assert [p.file for p in faults(tmp_path / "c" / "TLG00009.XML")] == ["TLG00009.XML", "TLG00009.BIN"]


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ("<TIM", "not XML"),
        ("", "not XML"),
        ('<!DOCTYPE t [<!ENTITY a "aa">]><TIM A=""><PTN A="" B=""/></TIM>', "document type or an entity"),
        ("<TSK/>", "not the header"),
        ('<TIM A=""/>', "no places"),
        ('<TIM A=""><PTN A=""/></TIM>', "no places"),
        ('<TIM A=""><PTN A="" B=""/><PTN A="" B=""/></TIM>', "no places"),
        ('<TIM A=""><PTN A="" B=""/><DLV A="xyz"/></TIM>', "no DDI"),
        ('<TIM A=""><PTN A="" B=""/>' + '<DLV A="0001"/>' * 256 + "</TIM>", "too many values"),
        ('<TIM A=""><PTN A="" B="" D="high"/></TIM>', "no number"),
        ("<a>" * 60 + "</a>" * 60, "nested too deep"),
        ('<TIM A=""><PTN A="" B=""/></TIM>' + " " * 1_000_000, "too large"),
    ],
)
def test_headers_that_cannot_be(tmp_path, head, says):
    (found,) = [p for p in faults(time_logs.write(tmp_path, head, b"")) if says in p.message]
    assert found.file == "TLG00001.XML"


def two(**second):
    """Two readings, the second with something wrong."""
    wrong = {"seconds": 1, "lon": 9.0, "lat": 51.0, **second}
    return time_logs.record(0, 9.0, 51.0) + time_logs.record(**wrong)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (two(values=[(7, 1)]), "does not know this value"),
        (two(lat=91.0), "not on earth"),
        (two(lon=-181.0), "not on earth"),
        (two(seconds=90_000), "a day is not so long"),
        (two(seconds=0, day=16_553), "time runs back"),
        (two(values=[(0, 12_000)]), "no planter sows so fast"),
        (time_logs.record(0, 9.0, 51.0), "two readings"),
        (b"", "two readings"),
    ],
)
def test_records_that_cannot_be(tmp_path, body, says):
    found = faults(time_logs.write(tmp_path, time_logs.header((SPEED, "DET-1")), body))
    assert any(says in p.message for p in found)
    assert all(p.allowed for p in found)


def test_many_faults_are_not_all_listed(tmp_path):
    body = b"".join(time_logs.record(t, 9.0, 95.0) for t in range(1000))
    found = faults(time_logs.write(tmp_path, time_logs.header(), body))
    assert (len(found), found[0].row) == (10, 1)


HEAD, WHOLE = time_logs.logged(
    driven.drive(7.5, end=60.0), driven.rows_closed(driven.drive(10.5, end=60.0), first_m=9, last_m=30)
)


@settings(max_examples=60, deadline=None)
@given(length=st.integers(0, len(WHOLE)))
def test_a_log_cut_off_anywhere_is_the_first_part_of_the_whole(tmp_path_factory, length):
    folder = tmp_path_factory.mktemp("cut")
    whole = read(time_logs.write(folder, HEAD, WHOLE, "TLG00001"))
    path = time_logs.write(folder, HEAD, WHOLE[:length], "TLG00002")
    log, problems = tried(path)
    assert bool(problems) == (log is None)
    if log is None:
        assert "two readings" in problems[0].message  # only where hardly anything is left
        assert length < 60
        return
    n = log.seconds.size
    assert log.seconds.tolist() == whole.seconds[:n].tolist()
    assert log.rows_off.tolist() == whole.rows_off[:n].tolist()
    assert len(log.notes) <= 1
    assert log.notes == () or length < len(WHOLE)


@settings(max_examples=150, deadline=None)
@given(body=st.binary(max_size=400), head=st.sampled_from([HEAD, time_logs.header((STATE, "D"), place='A="" B=""')]))
def test_any_bytes_are_a_log_or_are_refused_in_words(tmp_path_factory, body, head):
    path = time_logs.write(tmp_path_factory.mktemp("any"), head, body)
    log, problems = tried(path)
    assert all(p.message and p.file for p in problems)
    assert bool(problems) == (log is None)
    if log is None:
        return
    assert (np.abs(log.lat) <= 90).all()
    assert (np.diff(log.seconds) >= 0).all()


@settings(max_examples=60, deadline=None)
@given(head=st.binary(max_size=200) | st.text(max_size=80).map(lambda t: f"<TIM A=''>{t}</TIM>".encode()))
def test_any_header_is_refused_in_words(tmp_path_factory, head):
    path = time_logs.write(tmp_path_factory.mktemp("head"), "", WHOLE)
    path.write_bytes(head)
    assert all(p.message for p in faults(path))


def test_the_log_of_another_field_or_year_is_refused_as_a_table_is(tmp_path):
    far = b"".join(time_logs.record(t, 10.0, 52.0) for t in range(5))
    with pytest.raises(InputError, match="no reading lies in a strip"):
        read_trial_log(time_logs.write(tmp_path, time_logs.header(), far), "A", FOUR, DRAW, 2025)
    head, body = time_logs.logged(driven.drive(7.5))
    with pytest.raises(InputError, match="season of the trial"):
        read_trial_log(time_logs.write(tmp_path, head, body), "A", FOUR, DRAW, 2031)


def test_names_that_are_time_logs(tmp_path):
    assert [is_time_log(tmp_path / n) for n in ("a.XML", "a.bin", "a.zip", "a.csv")] == [True, True, True, False]
    assert is_time_log(tmp_path)
