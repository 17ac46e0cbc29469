"""The report prints who agreed and who objected, in their own words."""

from dataclasses import replace

from tests.report import fixture_verdict as fixture

from evenground.basis.record import with_changes
from evenground.report.checks_page import checks_page
from evenground.report.document import Bullets, Facts

VERDICT = fixture.verdict()
GIVEN = [
    {"who": "The driver", "role": "driver", "methods": ["A", "B"], "agrees": True, "said_on": "2025-03-01"},
    {"who": "The lender", "role": "lender", "methods": ["B"], "agrees": False, "words": "9 seeds would be better"},
]


def printed(**people):
    plan = with_changes(VERDICT.plan, people=people)
    return checks_page(replace(VERDICT, plan=plan))


def test_agreement_and_objection_are_printed():
    items = [item for part in printed(agreements=GIVEN) if isinstance(part, Bullets) for item in part.items]
    assert "The driver (driver, methods A and B): agrees on 1\xa0Mar\xa02025." in items
    assert 'The lender (lender, method B): OBJECTS; "9 seeds would be better".' in items


def test_without_any_answer_it_says_not_said():
    def said(parts):
        return [fact for part in parts if isinstance(part, Facts) for fact in part.rows if "Agreed" in fact.label]

    assert [fact.text for fact in said(printed())] == ["not said"]
    assert said(printed(agreements=GIVEN)) == []
    assert said(printed(agreed=["Both agreed."])) == []
