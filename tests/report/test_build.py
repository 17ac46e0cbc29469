"""The document says what the verdict says: words in the fixed order, every number the verdict's own."""

from __future__ import annotations

import math
import re
from dataclasses import asdict, replace

import pytest
from tests.report import fixture_verdict

from evenground.basis.thousands import THIN
from evenground.report.adviser_page import disagreements, influence_table, priors_table, results_table
from evenground.report.build import INVENTED, build
from evenground.report.checks_page import NOT_SAID, fairness_table, harvest_table, paid_facts, sizes_together
from evenground.report.document import (
    Bullets,
    Column,
    Document,
    Facts,
    Figure,
    Heading,
    Note,
    PageBreak,
    Paragraph,
    Part,
    Table,
)
from evenground.report.field_page import lost_strips, ways_tables
from evenground.report.front_page import QUESTIONS, answers, front_page, money_table
from evenground.report.wording import ACTIONS, MINUS, signed

# PRACTICE: never said, on any page.
NEVER_SAID = ("significant", "proven", "no difference")
# Words of statistics that have no place before the adviser's page.
ADVISER_ONLY = (
    "p-value",
    "standard error",
    "degrees of freedom",
    "posterior",
    "prior",
    "null hypothesis",
    "confidence",
)


def words(part: object) -> str:
    """All text inside a part or document."""
    if isinstance(part, str):
        return part + "\n"
    if isinstance(part, dict):
        return "".join(words(value) for value in part.values())
    if isinstance(part, list | tuple):
        return "".join(words(value) for value in part)
    return words(asdict(part)) if hasattr(part, "__dataclass_fields__") else ""  # type: ignore[call-overload]


def numeric(text: str) -> float:
    return float(text.replace(MINUS, "-").replace(THIN, ""))


@pytest.fixture(scope="module", params=["AB", "ABC"])
def document(request: pytest.FixtureRequest) -> Document:
    return build(fixture_verdict.verdict(request.param), fixture_verdict.field())


def test_never_says_what_must_not_be_said(document: Document) -> None:
    text = words(document).lower()
    assert [word for word in NEVER_SAID if word in text] == []


def test_words_of_statistics_wait_for_the_advisers_page(document: Document) -> None:
    headings = [p.text if isinstance(p, Heading) else "" for p in document.parts]
    before = words(document.parts[: headings.index("For the adviser")]).lower()
    assert [word for word in ADVISER_ONLY if word in before] == []


def test_first_page_has_the_fixed_order() -> None:
    verdict = fixture_verdict.verdict()
    kinds = [type(part) for part in front_page(verdict)]
    assert kinds == [Heading, Paragraph, Facts, Figure, Table, Note]
    lead, facts = front_page(verdict)[1], front_page(verdict)[2]
    assert isinstance(lead, Paragraph)
    assert isinstance(facts, Facts)
    assert lead.text == verdict.headline
    assert tuple(fact.label for fact in facts.rows) == QUESTIONS
    for fact, sentence in zip(facts.rows, verdict.main.sentences, strict=True):
        assert sentence.lower().endswith(fact.text.lower())


def test_a_lead_in_is_not_said_twice_and_other_numbers_of_sentences_still_show() -> None:
    six = answers(("a.", "b.", "c.", "d.", "Weakest point: starch.", "Next: repeat."))
    assert [fact.text for fact in six.rows][-2:] == ["Starch.", "Repeat."]
    seven = answers(tuple("abcdefg"))
    assert [(fact.label, fact.text) for fact in seven.rows] == [("", f"{letter}.") for letter in "ABCDEFG"]


def test_several_methods_each_get_their_piece() -> None:
    parts = front_page(fixture_verdict.verdict("ABC"))
    heads = [part.text for part in parts if isinstance(part, Heading)]
    assert heads == ["The verdict", "B against A: twin staggered rows", "C against A: narrow rows, 50 cm"]
    names = [part.name for part in build(fixture_verdict.verdict("ABC"), None).figures]
    assert len(names) == len(set(names))


def test_invented_trials_say_so_and_others_do_not() -> None:
    verdict = fixture_verdict.verdict()
    assert build(verdict, None).banner == INVENTED
    trial = verdict.plan.trial.model_copy(update={"invented": False})
    real = replace(verdict, plan=verdict.plan.model_copy(update={"trial": trial}))
    assert INVENTED not in words(build(real, None))


def test_money_is_the_verdicts() -> None:
    verdict = fixture_verdict.verdict()
    money, table = verdict.main.money, money_table(verdict, verdict.main)
    got = {row[0]: (numeric(row[2]), numeric(row[3])) for row in table.rows}
    for name, per_ha, farm in (
        ("Best", money.best, money.best_farm),
        ("Likely", money.likely, money.likely_farm),
        ("Worst", money.worst, money.worst_farm),
    ):
        # Printed to 1 money/ha and to 10 money/a: half of each.
        assert got[name][0] == pytest.approx(per_ha, abs=0.5)
        assert got[name][1] == pytest.approx(farm, abs=5.0)
    assert "1 of 20 results like this would be below worst" in table.note


def test_results_are_the_verdicts() -> None:
    verdict = fixture_verdict.verdict()
    rows = {row[1]: row[2] for row in results_table(verdict).rows}
    one = verdict.main.comparison
    # Printed to 0.01 t/ha (standard error 0.001): half of each.
    assert numeric(rows["extra yield, t/ha"]) == pytest.approx(one.gain, abs=0.005)
    assert numeric(rows["standard error, t/ha"]) == pytest.approx(one.standard_error, abs=0.0005)
    assert numeric(rows["degrees of freedom"]) == pytest.approx(one.df, abs=0.005)
    low, high = rows["90 % simultaneous interval, t/ha"].split(" to ")
    assert (numeric(low), numeric(high)) == pytest.approx(one.interval_simultaneous, abs=0.005)
    assert rows["size of the reference set"] == "34"
    mean, sd = rows["posterior mean ± SD, long run, t/ha"].split(" ± ")
    assert (numeric(mean), numeric(sd)) == pytest.approx((one.posterior.mu.mean, one.posterior.mu.sd), abs=0.005)
    assert numeric(rows["P(long run > worthwhile)"].removesuffix(" %")) == pytest.approx(
        100 * verdict.main.chance_it_pays, abs=0.5
    )


def test_every_table_names_each_row_and_has_units_or_words_in_each_column(document: Document) -> None:
    for part in document.parts:
        if isinstance(part, Table):
            assert all(row[0] for row in part.rows), part.caption
            assert all(column.name for column in part.columns), part.caption


def test_missing_p_values_say_why() -> None:
    verdict = fixture_verdict.verdict()
    one = replace(verdict.main.comparison, p=None, randomisation=None, no_p_reason="one figure per method.")
    without = replace(verdict, methods=(replace(verdict.main, comparison=one),))
    table = results_table(without)
    assert {row[1]: row[2] for row in table.rows}["p, two-sided, model"] == "–"
    assert table.note == "B: One figure per method."
    assert disagreements(without) == ()


@pytest.mark.parametrize(
    ("model", "drawn", "said"), [(0.01, 0.06, True), (0.06, 0.01, True), (0.01, 0.03, False), (0.3, 0.2, False)]
)
def test_disagreement_of_model_and_draw_is_said_in_words(model: float, drawn: float, said: bool) -> None:
    verdict = fixture_verdict.verdict()
    one = verdict.main.comparison
    assert one.randomisation is not None
    one = replace(one, p=model, randomisation=replace(one.randomisation, p=drawn))
    found = disagreements(replace(verdict, methods=(replace(verdict.main, comparison=one),)))
    assert bool(found) is said


def test_lost_and_wrongly_sown_strips_are_said_in_words() -> None:
    verdict = fixture_verdict.verdict()
    strips = list(verdict.harvest.strips)
    strips[2] = replace(strips[2], method="A")
    strips[3] = replace(strips[3], outcome=None, state="missing", notes=())
    said = lost_strips(replace(verdict, harvest=replace(verdict.harvest, strips=tuple(strips))))
    assert said == (
        "Strip 3 (block 2, A) was drawn for B but sown with A; it counts as sown.",
        "Strip 4 (block 2, A) has no weight.",
        "Strip 10 (block 5, A) has no weight. A row unit was blocked for 90 m.",
    )


def test_harvest_table_has_every_strip_and_its_story() -> None:
    verdict = fixture_verdict.verdict()
    rows = {row[0]: row for row in harvest_table(verdict.harvest).rows}
    assert len(rows) == 16
    assert rows["10"][6] == "–"
    assert rows["10"][7] == "Lost. A row unit was blocked for 90 m."
    assert rows["4"][7] == "Dry-matter figure shared with strip 5."
    assert "weighed twice" in rows["7"][7]
    assert numeric(rows["1"][6]) == pytest.approx(12.9, abs=0.005)


def test_ways_stand_side_by_side() -> None:
    method = fixture_verdict.verdict().main
    table = ways_tables(method)[0]
    assert isinstance(table, Table)
    assert [column.name for column in table.columns[1:]] == ["Hire", "Own", "Shared with neighbours"]
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["Cheaper than hiring from, ha a year"] == ("–", "96", "61")
    assert numeric(rows["Must reach to pay, t/ha"][0]) == pytest.approx(method.worthwhile_gain, abs=0.005)


def test_own_machine_that_never_pays_says_never() -> None:
    method = fixture_verdict.verdict().main
    ways = (method.budget.ways[0], replace(method.budget.ways[1], break_even_ha=None, worthwhile_gain_full_year=None))
    table = ways_tables(replace(method, budget=replace(method.budget, ways=ways)))[0]
    assert isinstance(table, Table)
    assert table.rows[-1] == ("Cheaper than hiring from, ha a year", "–", "never")
    assert table.rows[-2][2] == "–"


@pytest.mark.parametrize(("gain", "said"), [(math.inf, "cannot pay"), (-math.inf, "pays whatever it yields")])
def test_a_tonne_worth_nothing_is_said_in_words(gain: float, said: str) -> None:
    verdict = fixture_verdict.verdict()
    way = replace(verdict.main.budget.chosen, worthwhile_gain=gain)
    cost = replace(verdict.main.budget, ways=(way,), chosen=way)
    method = replace(verdict.main, worthwhile_gain=gain, budget=cost)
    document = build(replace(verdict, methods=(method,)), None)
    text = words(document)
    assert said in text
    assert re.search(r"\b(inf|nan)\b", text) is None
    table = ways_tables(method)[0]
    assert isinstance(table, Table)
    assert table.rows[3][1] == said


def test_what_the_trial_asks_about_is_no_bias() -> None:
    checks = fixture_verdict.fairness()
    asked = replace(checks[1], part_of_question=True, method="B")
    rows = fairness_table((asked, replace(asked, method="C"))).rows
    assert [row[0] for row in rows] == ["Sowing day (B): differs", "Sowing day (C): differs"]
    assert rows[0][2] == "part of the question"


def test_unknown_stays_unknown_and_who_paid_is_asked() -> None:
    verdict = fixture_verdict.verdict()
    rows = fairness_table(verdict.fairness).rows
    assert rows[2][0] == "Depth: not known"
    assert rows[2][2] == "size not known (common practice, no source)"
    assert rows[1][2] == f"{MINUS}0.10 to 0.00 (invented source)"
    facts = {fact.label: fact.text for fact in paid_facts(verdict.plan.people).rows}
    assert facts == {"Seed": "the farm", "Machine": "the contractor lent it for the day", "Laboratory": NOT_SAID}


def test_sizes_are_added_up_by_method_and_what_has_none_is_named() -> None:
    checks = fixture_verdict.verdict().fairness
    one = next(c for c in checks if c.bias_t_per_ha is not None)
    sized = replace(one, state="differs", method="B", bias_t_per_ha=(-0.5, 0.25), part_of_question=False)
    bare = replace(sized, item="hybrid", bias_t_per_ha=None)
    more = replace(sized, method="C", bias_t_per_ha=(-0.1, 0.0))
    asked = replace(sized, item="driver", part_of_question=True)
    said = sizes_together((sized, sized, more, bare, asked))
    assert f"B {MINUS}1.00 to +0.50; C {MINUS}0.10 to 0.00." in said
    assert said.endswith("no size is known: hybrid.")
    assert sizes_together((replace(sized, state="alike"),)) == "Nothing that differs has a known size."


def test_priors_show_source_and_flat_ones_say_so() -> None:
    verdict = fixture_verdict.verdict()
    rows = priors_table(verdict.comparison.priors, verdict).rows
    assert [row[2] for row in rows] == ["invented experience", "invented seasons", "invented strips"]
    flat = replace(verdict.comparison.priors, gain_sd=None, gain_mean=None, strip_error_median=None)
    assert "flat" in priors_table(flat, verdict).rows[0][1]


def test_influence_shows_each_block_once() -> None:
    rows = influence_table(fixture_verdict.verdict()).rows
    assert [row[0] for row in rows] == [f"Block {b}" for b in range(1, 9)]
    assert rows[0][1] == signed(0.56, 2)


def test_advice_uses_the_screen_words(document: Document) -> None:
    notes = [part.label for part in document.parts if isinstance(part, Note)]
    assert "Try again." in notes
    assert set(ACTIONS.values()) == {"Use it", "Try again", "Leave it", "Cannot tell"}


def test_pages_are_cut_at_breaks_and_tables_check_their_rows() -> None:
    parts: tuple[Part, ...] = (Heading("a"), PageBreak(), Heading("b"), PageBreak())
    assert Document("t", "", "en", "", "", parts).pages == ((Heading("a"),), (Heading("b"),))
    with pytest.raises(ValueError, match="does not have 1 cells"):
        Table("t", (Column("a"),), (("1", "2"),))


def test_provenance_is_printed_in_full(document: Document) -> None:
    text = words(document)
    for needed in ("a" * 64, "b" * 64, "20250303", "evenground 0.1.0", "3\xa0Nov\xa02025"):
        assert needed in text


def test_side_results_are_labelled(document: Document) -> None:
    tables = [part for part in document.parts if isinstance(part, Table) and part.caption.startswith("Side results")]
    assert len(tables) == 1
    assert len(tables[0].rows) == 2


def test_notes_of_the_comparison_reach_the_page(document: Document) -> None:
    bullets = [item for part in document.parts if isinstance(part, Bullets) for item in part.items]
    assert any("its strip of A still helps" in item for item in bullets)
