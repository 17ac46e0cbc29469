"""An invented verdict: 8 blocks, two methods (or three), one strip lost, two strips sharing one sample.

Everything in it is made up, the place too: it lies in the open Atlantic. The comparison is computed here by hand
(paired t on the complete pairs), so that these tests do not lean on the code that computes verdicts.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime

from scipy import stats
from shapely.geometry import MultiPolygon, Polygon

from evenground.basis.field import Field, LocalPlane
from evenground.basis.plan import Plan
from evenground.basis.strip import AppliedLimit, Draw, Strip
from evenground.compare.comparison import Comparison, MethodComparison, Priors, RandomisationTest, StripResidual
from evenground.decide.side_comparison import SideResult
from evenground.decide.verdict_record import MethodVerdict, PriorSensitivity, Provenance, Verdict
from evenground.decide.worth import Advice, Budget, BudgetLine, MoneyRange, WayBudget
from evenground.fairness.check import Check
from evenground.harvest.strips import Harvest, SharedFigure, StripHarvest
from evenground.numerics.normal_posterior import ErrorPrior, GainData, GainPosterior, GainPrior, gain_posterior

PLANE = LocalPlane(-30.0, 40.0)
HEADING = 20.0
WIDTH, LENGTH = 6.0, 240.0
ORDER = "ABBAABBABAABBABA"
LOST, SHARING, TWICE = 10, (4, 5), 7
YIELDS = {"A": (12.9, 13.1, 13.4, 13.0, 12.4, 12.2, 11.9, 12.3), "B": (13.6, 13.3, 14.3, 13.9, 12.9, 12.9, 12.3, 13.4)}
THIRD = (13.0, 13.0, 13.6, 13.2, 12.7, 12.1, 12.0, 12.6)
UNIT = "t dry matter/ha"

PLAN = Plan.model_validate(
    {
        "trial": {
            "name": "Twin rows on the sand",
            "season": 2025,
            "farm": "Invented farm",
            "question": "Do twin staggered rows pay on our sand?",
            "invented": True,
        },
        "methods": [
            {"letter": "A", "name": "single rows, 75 cm", "baseline": True, "machine": "eight", "seeds_per_m2": 9.0},
            {
                "letter": "B",
                "name": "twin staggered rows",
                "machine": "twin",
                "seeds_per_m2": 9.0,
                "row_pattern": {"kind": "twin", "row_spacing_m": 0.75, "twin_gap_m": 0.2, "staggered": True},
            },
            {"letter": "C", "name": "narrow rows, 50 cm", "machine": "eight", "seeds_per_m2": 9.0},
        ],
        "machines": [
            {"id": "eight", "kind": "planter", "rows": 8, "row_spacing_m": 0.75},
            {"id": "twin", "kind": "planter", "rows": 8, "row_spacing_m": 0.75},
        ],
        "people": {
            "paid_seed": "the farm",
            "paid_machine": "the contractor lent it for the day",
            "agreed": ["Both drivers agreed to 8 km/h and 5 cm.", "The lender asked to see the counts."],
        },
    }
)


def ring(across: float, width: float, low: float, high: float) -> tuple[tuple[float, float], ...]:
    """A strip's outline in degrees, from across/along in the turned plane."""
    turn = math.radians(HEADING)
    corners = [(across, low), (across + width, low), (across + width, high), (across, high), (across, low)]
    metres = [(x * math.cos(turn) + y * math.sin(turn), -x * math.sin(turn) + y * math.cos(turn)) for x, y in corners]
    return tuple((float(a), float(b)) for a, b in PLANE.to_degrees(Polygon(metres)).exterior.coords)


def field() -> Field:
    """The field: the strips with headlands, and a spinney in one corner."""
    outline = ring(-18.0, 16 * WIDTH + 40.0, -24.0, LENGTH + 22.0)
    spinney = ring(16 * WIDTH + 8.0, 10.0, 20.0, 60.0)
    return Field(MultiPolygon([Polygon(outline, [spinney])]), MultiPolygon())


def draw(order: str = ORDER, per_block: int = 2) -> Draw:
    strips = tuple(
        Strip(
            strip=i + 1,
            block=i // per_block + 1,
            method=letter,
            width_m=WIDTH,
            length_m=LENGTH,
            area_m2=WIDTH * LENGTH,
            cut_width_m=4.5,
            cut_length_m=LENGTH,
            cut_area_m2=4.5 * LENGTH,
            outline=ring(i * WIDTH, WIDTH, 0.0, LENGTH),
            cut_outline=ring(i * WIDTH + 0.75, 4.5, 0.0, LENGTH),
        )
        for i, letter in enumerate(order)
    )
    return Draw(
        number=1,
        drawn_at=datetime(2025, 3, 3, 19, 30),
        seed=20250303,
        limits=(
            AppliedLimit(name="equal_orders", bound=0.0, applied=True, reason="70 orders left"),
            AppliedLimit(name="linear_trend", bound=2.0, applied=True, reason="the smallest p stays at 0.05"),
            AppliedLimit(name="edge", applied=False, reason="the test could no longer reach 0.05"),
        ),
        allowed_orders=70,
        smallest_p=2 / 70,
        plan_hash="a" * 64,
        version="0.1.0",
        heading_deg=HEADING,
        strips=strips,
    )


def harvested(drawn: Draw, yields: dict[str, tuple[float, ...]]) -> Harvest:
    strips = []
    for strip in drawn.strips:
        outcome, area, dry = yields[strip.method][strip.block - 1], strip.cut_area_m2, 0.33
        one = StripHarvest(
            strip=strip.strip,
            block=strip.block,
            method=strip.method,
            drawn_method=strip.method,
            cut_area_m2=area,
            area_source="geometry",
            fresh_t=outcome * area / 1e4 / dry,
            dry_matter_fraction=dry,
            outcome=outcome,
            state="weighed",
        )
        if strip.strip == LOST:
            notes = ("A row unit was blocked for 90 m.",)
            one = replace(one, fresh_t=None, dry_matter_fraction=None, outcome=None, state="lost", notes=notes)
        if strip.strip in SHARING:
            other = SHARING[0] if strip.strip == SHARING[1] else SHARING[1]
            one = replace(one, shares_sample_with=(other,))
        if strip.strip == TWICE:
            one = replace(one, notes=("Load L07 was weighed twice, 20 kg apart; the mean counts.",))
        strips.append(one)
    return Harvest(
        tuple(strips), (SharedFigure(SHARING, 0.33, 0.008, "repeats"),), UNIT, ("All scales read to 20 kg.",)
    )


def compared(
    method: str, pairs: list[tuple[float, float]], prior: tuple[GainPrior, ErrorPrior]
) -> tuple[MethodComparison, GainPosterior]:
    """Paired t by hand, and the posterior that goes with it."""
    d = [b - a for a, b in pairs]
    n, mean = len(d), sum(d) / len(d)
    variance = sum((x - mean) ** 2 for x in d) / (n - 1)
    error = math.sqrt(variance / n)
    t = mean / error
    p = float(2 * stats.t.sf(abs(t), n - 1))
    half = float(stats.t.ppf(0.95, n - 1)) * error
    posterior = gain_posterior(GainData(mean, 2 / n, variance / 2, n - 1), *prior)
    interval = (mean - half, mean + half)
    return MethodComparison(
        method=method,
        baseline="A",
        gain=mean,
        standard_error=error,
        df=float(n - 1),
        df_satterthwaite=None,
        t=t,
        p=p,
        interval=interval,
        interval_simultaneous=interval,
        p_simultaneous=p,
        level=0.9,
        randomisation=RandomisationTest(p=2 / 34, exact=True, error=0.0, smallest=2 / 34, size=34),
        posterior=posterior,
        variance_factor=2 / n,
        residual_mean_square=variance / 2,
        residual_df=n - 1,
    ), posterior


def budget(method: str) -> Budget:
    def way(name: str, machine: float, area: float | None) -> WayBudget:
        extra = machine + 4.0
        lines = (BudgetLine("Machine", machine), BudgetLine("Seed", 4.0))
        return WayBudget(name, lines, extra, extra / 126.0, extra / 180.0, extra / 90.0, area)

    ways = (way("hire", 48.0, None), way("own", 71.0, 96.0), way("shared", 39.0, 61.0))
    return Budget(method, "A", "EUR", ways, ways[0], 126.0, 180.0, 90.0)


def judged(verdict_on: MethodComparison) -> MethodVerdict:
    one, money = verdict_on, budget(verdict_on.method)
    pays_from, value, area = money.chosen.worthwhile_gain, money.value_per_t, PLAN.money.area_ha
    low, high = one.posterior.mu.interval(0.9)
    net = [gain * value - money.chosen.extra_cost_per_ha for gain in (low, one.posterior.mu.mean, high)]
    pays = one.posterior.mu.chance_above(pays_from)
    more = round(20 * pays)
    return MethodVerdict(
        comparison=one,
        budget=money,
        money=MoneyRange(*net, *(x * area for x in net), chance_of_loss=1 - pays, level=0.9),
        worthwhile_gain=pays_from,
        chance_it_pays=pays,
        chance_it_pays_next_year=one.posterior.next_season.chance_above(pays_from),
        advice=Advice("repeat", "another year is worth more to this farm than it costs.", "trial_cost_per_year", 610.0),
        sensitivity=tuple(
            PriorSensitivity(label, 0.5, 0.15, 0.6, 0.58, "repeat")
            for label in ("spread of the long-run gain halved", "spread of the long-run gain doubled")
        ),
        sentences=(
            f"In this field, in 2025, {one.method} gave {one.gain:.1f} t dry matter per hectare more than A.",
            f"The true figure is probably between {one.interval[0]:.1f} and {one.interval[1]:.1f} t more.",
            f"It must give {pays_from:.1f} t per hectare more to pay.",
            f"Out of 20 results like this about {more} would pay and {20 - more} would not, if twin rows start out as "
            "they did in earlier trials.",
            "Weakest point: two strips share one dry-matter sample.",
            "Next: try again, because another year is worth more to this farm than it costs.",
        ),
    )


def fairness() -> tuple[Check, ...]:
    nothing = "common practice, no source"
    return (
        Check("seed rate", "alike", "More seed can mean more plants.", "9.0 seeds/m² set for both", None, nothing, ""),
        Check(
            "sowing day",
            "differs",
            "Earlier sown maize has more time.",
            "B was sown 1 day after A",
            (-0.1, 0.0),
            "invented source",
            "Sow both on one day.",
        ),
        Check("depth", "unknown", "Depth moves emergence.", "", None, nothing, "Dig ten seeds in each strip."),
    )


def verdict(letters: str = "AB") -> Verdict:
    """The invented verdict on B, or on B and C."""
    order = ORDER if letters == "AB" else "ABCBCACABACBBACCBAACBCAB"
    yields = {**YIELDS, "C": THIRD}
    drawn = draw(order, len(letters))
    harvest = harvested(drawn, yields)
    found = {(s.block, s.method): s.outcome for s in harvest.strips}
    prior = (GainPrior(0.2, 0.45, 0.25), ErrorPrior(0.5, 0.5))
    ones = []
    for letter in letters[1:]:
        both = [(found[b, "A"], found[b, letter]) for b in range(1, 9)]
        ones.append(compared(letter, [(a, m) for a, m in both if a is not None and m is not None], prior)[0])
    weighed = {m: [y for (_, letter), y in found.items() if letter == m and y is not None] for m in letters}
    means = {letter: sum(values) / len(values) for letter, values in weighed.items()}
    residuals = tuple(
        StripResidual(
            str(s.strip), s.method, str(s.block), s.outcome - 0.1, (-1) ** s.strip * 0.1, 0.55 + s.block / 100
        )
        for s in harvest.strips
        if s.outcome is not None
    )
    comparison = Comparison(
        strips=len(residuals),
        blocks=8,
        baseline="A",
        method_means=means,
        block_effects="random",
        block_variance=0.21,
        residual_variance=0.09,
        priors=Priors(0.2, 0.45, "invented experience", 0.25, "invented seasons", 0.5, 0.5, "invented strips"),
        comparisons=tuple(ones),
        residuals=residuals,
        notes=("Block 5 has no strip of B; its strip of A still helps to place the other blocks.",),
        seed=1,
    )
    return Verdict(
        plan=PLAN if letters != "AB" else PLAN.model_copy(update={"methods": PLAN.methods[:2]}),
        draws=(drawn,),
        harvest=harvest,
        comparison=comparison,
        methods=tuple(judged(one) for one in ones),
        fairness=fairness(),
        side_results=(
            SideResult("Fresh mass", "t/ha", "B", "A", 1.4, (-0.2, 3.0)),
            SideResult("Dry matter", "% points", "B", "A", 0.2, (-0.4, 0.8)),
        ),
        detectable_gain=0.9,
        weak_points=("Two strips share one dry-matter sample.", "One strip was lost."),
        headline="B gave more this year, but it is not sure enough that it pays: try it again.",
        cannot_say=("Whether a wet year would give the same.", "Whether starch differs: it was not measured."),
        provenance=Provenance("0.1.0", "a" * 64, "b" * 64, {"draw": 20250303, "test": 1}, "2025-11-03"),
    )
