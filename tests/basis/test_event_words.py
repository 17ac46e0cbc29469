"""What an entry may say beside its kind: labels with sowing, with what a pass was made, which crop stood before."""

from __future__ import annotations

import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.observations import DONE_WITH, EVENT_KINDS


@pytest.mark.parametrize("kind", DONE_WITH)
def test_these_entries_may_say_with_what(kind: str) -> None:
    assert kind in EVENT_KINDS
    assert small.event(1, kind, what="rye").what == "rye"


def test_labels_belong_to_sowing() -> None:
    got = small.event(1, "sown", hybrid="one", dressing="red")
    assert (got.hybrid, got.dressing) == ("one", "red")
    with pytest.raises(ValidationError) as caught:
        small.event(1, "hoed", hybrid="one", dressing="red")
    assert caught.value.error_count() == 1
    assert "belongs to sowing" in str(caught.value)


def test_a_previous_crop_needs_its_name() -> None:
    with pytest.raises(ValidationError, match="needs the crop"):
        small.event(1, "previous_crop")


@pytest.mark.parametrize("kind", ["sown", "harvested", "damage", "other"])
def test_other_entries_say_nothing_there(kind: str) -> None:
    with pytest.raises(ValidationError, match="goes with an entry hoed"):
        small.event(1, kind, what="rye")
