"""Each driver, and whoever sells or lends a method, agrees or objects before the draw; who was not asked is named."""

from datetime import date

import pytest
from tests import small_trial as small

from evenground.sowing.agreements import answer_sentences, answers


def plan(*given, agreed=()):
    return small.plan(people={"agreements": given, "agreed": agreed})


def said(role, *methods, agrees=True, **more):
    return {"who": f"the {role}", "role": role, "methods": methods, "agrees": agrees, **more}


def test_nobody_asked_names_everybody():
    found = answers(plan(), None)
    assert found.missing == (
        "the driver of method A (four)",
        "the driver of method B (pairs)",
        "whoever sells or lends method B",
    )
    assert (found.said, found.objections, found.late) == ((), 0, ())
    assert "still to be asked before the draw" in answer_sentences(plan(), None)[0]


@pytest.mark.parametrize("role", ["lender", "seller"])
def test_all_asked(role):
    found = answers(plan(said("driver", "A"), said("driver", "B"), said(role, "B")), None)
    assert found.missing == ()


def test_one_driver_of_all_methods_counts_for_all():
    assert answers(plan(said("driver"), said("lender")), None).missing == ()


def test_others_do_not_stand_in_for_a_driver():
    assert len(answers(plan(said("other"), said("driver", "A"), said("lender", "A")), None).missing) == 2


def test_objections_are_counted_and_said_in_their_own_words():
    the_plan = plan(said("lender", "B", agrees=False, words="9 seeds would be fairer", said_on="2025-02-01"))
    assert answers(the_plan, None).objections == 1
    (text, *_) = answer_sentences(the_plan, None)
    assert text == 'the lender (lender, method B): OBJECTS on 1\xa0Feb\xa02025; "9 seeds would be fairer".'


def test_answers_after_the_draw_are_named_as_late():
    draw = small.draw()  # drawn on 1 March 2025
    late = plan(said("driver", "A", said_on=date(2025, 3, 2)), said("driver", "B", said_on=date(2025, 3, 1)))
    assert answers(late, draw).late == ("the driver on 2\xa0Mar\xa02025",)
    assert any("only after the draw" in line for line in answer_sentences(late, draw))
    assert answers(late, None).late == ()


def test_free_words_stay():
    the_plan = plan(agreed=("Both drivers agreed.",))
    assert answers(the_plan, None).said == ("Both drivers agreed.",)
    assert the_plan.people.answers == ("Both drivers agreed.",)
