"""What every store of trials keeps to: one class of tests, for the folder and for the database."""

from __future__ import annotations

import threading
from datetime import datetime

import pytest
from django.db import connection
from django.utils import timezone
from shapely.geometry import MultiPolygon, box

from evenground.adapters.geojson import field_text
from evenground.adapters.plan_file import plan_text
from evenground.adapters.trial_folder import TrialFolder
from evenground.basis.errors import InputError, LockedError
from evenground.basis.field import Field
from evenground.basis.observations import RECORD_KINDS
from evenground.basis.store import TrialStore
from evenground.web.accounts.services import make_farm
from evenground.web.trials.models import DrawVersion, FieldVersion, PlanVersion, StoredRecord
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore
from tests import small_trial as t

PLAN = t.plan()
DRAW = t.draw()
SEASON = t.whole_season(DRAW)
EVERY = [r for kind in RECORD_KINDS for r in getattr(SEASON, kind)]
FIELD = Field(MultiPolygon([box(9.0, 51.0, 9.003, 51.003)]), MultiPolygon())


@pytest.fixture
def in_a_folder(tmp_path):
    return TrialFolder.create(tmp_path / "trial", plan_text(PLAN), FIELD)


@pytest.fixture
def in_the_database(owner):
    said = PLAN.trial
    trial = make_trial(farm=make_farm(name="Farm", owner=owner), name=said.name, season=said.season, by=owner,
                       plan_text=plan_text(PLAN), field_text=field_text(FIELD))  # fmt: skip
    return DatabaseStore(trial, owner, "phone-1")


@pytest.fixture(params=["in_a_folder", "in_the_database"])
def store(request) -> TrialStore:
    made: TrialStore = request.getfixturevalue(request.param)
    return made


@pytest.fixture
def full(store):
    """A store that must be as it was afterwards."""
    store.append_draw(DRAW)
    store.append_records(EVERY)
    before = store.load()
    yield store
    assert store.load() == before


class TestStore:
    """`evenground.basis.store.TrialStore`, as its docstrings promise it."""

    def test_everything_stored_is_loaded_the_same(self, store):
        store.append_draw(DRAW)
        assert store.append_records(EVERY) == len(EVERY)
        stored = store.load()
        assert (stored.plan, stored.draws, stored.records) == (PLAN, (DRAW,), SEASON)
        assert stored.field.boundary.equals(FIELD.boundary)

    def test_a_new_trial_has_no_draw_and_no_records(self, store):
        assert (store.load().draw, store.load().records.count) == (None, 0)

    def test_hashes_do_not_depend_on_the_store(self, in_a_folder, in_the_database):
        for one in (in_a_folder, in_the_database):
            one.append_draw(DRAW)
            one.append_records(EVERY)
        assert in_a_folder.load() == in_the_database.load()

    def test_sending_twice_stores_once(self, full):
        assert full.append_records(EVERY) == 0
        assert full.append_records([EVERY[0], EVERY[0]]) == 0

    def test_twice_in_one_call_is_once(self, store):
        store.append_draw(DRAW)
        load = t.load(1)
        assert store.append_records([load, load.model_copy()]) == 1

    @pytest.mark.parametrize(
        "record",
        [
            t.load(1, trailer="other"),
            t.load(99, n=2),
            t.weighing("no such load", 900),
            t.event(1, "sown", n=2, method="C"),
            t.sample(1, 33.0, n=2, replaces="nobody"),
            t.load(1, n=2).model_copy(update={"time": datetime(2020, 1, 1)}),
            t.load(1, n=2, note="a\x00b"),
        ],
        ids=["other content", "no strip", "no load", "no method", "corrects nothing", "wrong year", "odd sign"],
    )
    def test_what_cannot_be_is_refused_with_everything_sent_beside_it(self, full, record):
        with pytest.raises(InputError):
            full.append_records([t.sample(2, 33.0, n=5), record])

    def test_all_problems_are_told_at_once(self, full):
        with pytest.raises(InputError) as told:
            full.append_records([t.load(99, n=2), t.load(98, n=3)])
        assert {p.given for p in told.value.problems} >= {"99", "98"}

    def test_a_correction_follows_and_both_stay(self, store):
        store.append_draw(DRAW)
        store.append_records([t.sample(1, 33.0)])
        first = store.load().records.samples[0]
        store.append_records(
            [first.model_copy(update={"id": "better", "replaces": first.id, "dry_matter_percent": 34.0})]
        )
        assert [s.dry_matter_percent for s in store.load().records.samples] == [33.0, 34.0]

    def test_of_two_corrections_of_one_record_the_second_is_refused(self, store):
        store.append_draw(DRAW)
        store.append_records([t.sample(1, 33.0)])
        first = store.load().records.samples[0]
        store.append_records([first.model_copy(update={"id": "b", "replaces": first.id})])
        with pytest.raises(InputError, match="same record"):
            store.append_records([first.model_copy(update={"id": "c", "replaces": first.id})])

    def test_numbers_come_back_to_the_last_digit(self, store):
        store.append_draw(DRAW)
        odd = t.weighing("L1-1", 0.1 + 0.2 + 9000)
        store.append_records([t.load(1), odd])
        assert store.load().records.weighings[0].gross_kg == odd.gross_kg

    @pytest.mark.parametrize("note", ['Höhe;"x"', "two\nlines", "=1+1", "'", "a,b;c\td", "日本", "1.234,5"])
    def test_any_text_comes_back(self, store, note):
        store.append_draw(DRAW)
        store.append_records([t.load(1, note=note)])
        assert store.load().records.loads[0].note == note

    def test_a_draw_locks(self, full):
        with pytest.raises(LockedError, match="reason"):
            full.append_draw(DRAW)
        with pytest.raises(LockedError):
            full.append_draw(DRAW.model_copy(update={"number": 2, "reason": "  "}))

    def test_a_new_draw_with_a_reason_keeps_the_old_one(self, store):
        store.append_draw(DRAW)
        again = DRAW.model_copy(update={"number": 2, "reason": "rain"})
        store.append_draw(again)
        assert (store.load().draws, store.load().draw) == ((DRAW, again), again)

    def test_draws_out_of_order_and_with_strange_letters_are_refused(self, full):
        with pytest.raises(InputError, match="numbered"):
            full.append_draw(DRAW.model_copy(update={"number": 5, "reason": "x"}))
        with pytest.raises(InputError, match="not in the plan"):
            full.append_draw(t.draw(("AC", "CA")).model_copy(update={"number": 2, "reason": "x"}))

    def test_a_plan_that_is_none_is_refused(self, full):
        with pytest.raises(InputError, match="guard_rows"):
            full.change_plan({"layout.guard_rows": 99})
        with pytest.raises(InputError, match="TOML"):
            full.save_plan("a =")

    def test_comments_order_and_unknown_keys_survive_a_change(self, store):
        text = "# our own words\n" + store.plan_text().replace(
            "guard_rows = 1", "ours = 3\nguard_rows = 1 # two machines"
        )
        store.save_plan(text)
        store.change_plan({"layout.guard_rows": 2})
        assert store.plan_text() == text.replace("guard_rows = 1", "guard_rows = 2")
        assert store.load().plan.layout.guard_rows == 2


def test_plan_and_field_versions_are_numbered_and_kept(in_the_database):
    store = in_the_database
    first = store.plan_text()
    store.save_plan(first + "# more\n")
    store.save_plan(first + "# more\n")
    store.save_field(field_text(FIELD))
    store.save_field(field_text(Field(MultiPolygon([box(9.0, 51.0, 9.002, 51.003)]), MultiPolygon())))
    assert [(p.number, p.text) for p in PlanVersion.objects.all()] == [(1, first), (2, first + "# more\n")]
    assert [f.number for f in FieldVersion.objects.all()] == [1, 2]


def test_rows_carry_what_they_are_found_by(in_the_database, owner):
    in_the_database.append_draw(DRAW)
    in_the_database.append_records(EVERY)
    row = StoredRecord.objects.first()
    assert (row.received_from, row.device) == (owner, "phone-1")
    assert row.seen_at is not None
    drawn_at = timezone.localtime(DrawVersion.objects.get().drawn_at)
    assert drawn_at.replace(tzinfo=None) == DRAW.drawn_at  # a time that names no zone is the farm's clock


def test_as_a_folder_it_says_the_same(in_the_database, in_a_folder):
    for one in (in_the_database, in_a_folder):
        one.append_draw(DRAW)
        one.append_records(EVERY)
    with in_the_database.as_folder() as path:
        assert TrialFolder(path).load() == in_the_database.load()
        names = {p.relative_to(path).as_posix() for p in path.rglob("*") if p.is_file()}
        assert names == {p.relative_to(in_a_folder.path).as_posix() for p in in_a_folder.path.rglob("*") if p.is_file()}
        for name in names - {"field.geojson"}:
            assert (path / name).read_bytes() == (in_a_folder.path / name).read_bytes(), name
    assert not path.exists()


def test_each_apart_takes_what_goes_and_says_what_is_wrong_with_the_rest(in_the_database):
    in_the_database.append_draw(DRAW)
    sent = [t.load(1), t.load(99, n=2), t.load(2), t.weighing("nowhere", 900), t.weighing("L1-1", 900)]
    refused = in_the_database.append_each(sent)
    assert set(refused) == {1, 3}
    assert "strip 99" in refused[1][0].message
    assert in_the_database.load().records.count == 3


def test_one_that_spoils_a_stored_record_is_the_one_refused(in_the_database):
    in_the_database.append_draw(DRAW)
    in_the_database.append_records([t.stand_count(1)] if hasattr(t, "stand_count") else [t.load(1)])
    # sown after it was harvested: the stored load is not to blame
    late = t.event(1, "sown", n=3, method="A").model_copy(update={"time": datetime(2025, 12, 1)})
    refused = in_the_database.append_each([t.load(2), late])
    assert set(refused) == {1}


@pytest.mark.django_db(transaction=True)
def test_eight_writers_at_once_lose_and_double_nothing(in_the_database):
    in_the_database.append_draw(DRAW)
    faults = []

    def write(number: int) -> None:
        try:
            store = DatabaseStore(in_the_database.trial, device=f"phone-{number}")
            for i in range(10):
                store.append_each([t.load(1 + i % 4, n=100 * number + i + 2)])
                store.append_records([t.load(1, n=2000 + i)])  # all eight send these
        except Exception as error:
            faults.append(error)
        finally:
            connection.close()

    writers = [threading.Thread(target=write, args=(n,)) for n in range(8)]
    for one in writers:
        one.start()
    for one in writers:
        one.join()
    assert faults == []
    assert in_the_database.load().records.count == 8 * 10 + 10
