"""The demo trial in the database says what the folder says."""

from evenground.adapters.trial_folder import TrialFolder
from evenground.web.trials.store import DatabaseStore


def test_the_database_gives_back_what_the_folder_holds(demo_trial, demo_folder):
    folder, stored = TrialFolder(demo_folder).load(), DatabaseStore(demo_trial).load()
    assert stored == folder
