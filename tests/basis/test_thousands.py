from __future__ import annotations

import pytest

from evenground.basis.thousands import THIN, grouped


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(999, 0, "999"), (1000, 0, "1 000"), (3620.4, 0, "3 620"), (1234567.89, 1, "1 234 567.9"), (-40500, 0, "-40 500")],
)
def test_thin_spaces_between_thousands(value, digits, text):
    assert grouped(value, digits) == text.replace(" ", THIN)


def test_a_large_number_stays_in_one_line():
    assert " " not in grouped(1e9)
