"""The verdict as a record: everything a report, a page or a screen needs, and nothing they must compute."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.compare.comparison import Comparison, MethodComparison
from evenground.compare.not_worse import NotWorse
from evenground.decide.adjusted_gain import AdjustedGain
from evenground.decide.factor_sentences import factor_sentences
from evenground.decide.feed_meaning import FeedMeaning
from evenground.decide.lost_methods import lost_sentences
from evenground.decide.sentences import what
from evenground.decide.side_comparison import SideResult
from evenground.decide.sown_and_stood import SownAndStood
from evenground.decide.walk_result import WalkResult
from evenground.decide.worth import Advice, Budget, MoneyRange
from evenground.fairness.check import Check
from evenground.harvest.strips import Harvest
from evenground.season.summary import SeasonSummary


@dataclass(frozen=True)
class PriorSensitivity:
    """The main answers again under other assumptions.

    Attributes
    ----------
    label : str
        What was changed, such as "spread of the long-run gain halved".
    mean, sd : float
        This season's gain [t/ha].
    chance_it_pays, chance_it_pays_next_year : float
        [1].
    action : str
        Advice under it.
    """

    label: str
    mean: float
    sd: float
    chance_it_pays: float
    chance_it_pays_next_year: float
    action: str


@dataclass(frozen=True)
class MethodVerdict:
    """The verdict on one method against the baseline.

    Attributes
    ----------
    comparison : MethodComparison
        Gain and how sure.
    budget : Budget
        What must be reached to pay.
    money : MoneyRange
        Best, likely, worst on this farm.
    worthwhile_gain : float
        Must reach to pay [t/ha].
    chance_it_pays, chance_it_pays_next_year : float
        Chance that the long-run gain, and next season's, is above the worthwhile gain [1].
    advice : Advice
        What to do next year.
    sensitivity : tuple of PriorSensitivity
        The same with half and double each prior spread.
    sentences : tuple of str
        Plain words in the fixed order: seen; how far the truth may lie; must reach to pay; out of 20; weakest point;
        next step.
    feed : FeedMeaning or None
        What the gain means in feed for the herd; None only in verdicts put together by hand.
    """

    comparison: MethodComparison
    budget: Budget
    money: MoneyRange
    worthwhile_gain: float
    chance_it_pays: float
    chance_it_pays_next_year: float
    advice: Advice
    sensitivity: tuple[PriorSensitivity, ...]
    sentences: tuple[str, ...]
    adjusted: AdjustedGain | None = None
    not_worse: NotWorse | None = None
    feed: FeedMeaning | None = None


@dataclass(frozen=True)
class Provenance:
    """What is needed to compute the verdict again.

    Attributes
    ----------
    version : str
        Program version.
    plan_hash, records_hash : str
        sha256 of their canonical text, hex.
    seeds : dict of str to int
        Seeds by purpose.
    computed_on : str
        Date, ISO.
    files : dict of str to str
        Other files it rests on, and their sha256 byte for byte, hex.
    """

    version: str
    plan_hash: str
    records_hash: str
    seeds: dict[str, int]
    computed_on: str
    files: dict[str, str] = field(default_factory=dict)

    @property
    def day(self) -> date:
        """Return the day it was computed on."""
        return date.fromisoformat(self.computed_on)


@dataclass(frozen=True)
class Verdict:
    """The whole verdict on one trial.

    Attributes
    ----------
    plan : Plan
        What was meant.
    draws : tuple of Draw
        All draws; the last one counts.
    harvest : Harvest
        What came off each strip.
    comparison : Comparison
        Is there a difference.
    methods : tuple of MethodVerdict
        One for each method that is not the baseline, best expected net first.
    fairness : tuple of Check
        What differed.
    side_results : tuple of SideResult
        Other outcomes.
    detectable_gain : float or None
        Gain this layout would find four times in five [t/ha], said before sowing.
    weak_points : tuple of str
        In plain words, weakest first.
    headline : str
        One sentence that answers the farm's question.
    cannot_say : tuple of str
        What one season cannot say.
    provenance : Provenance
        How to compute it again.
    later_changes : tuple of str
        What of the plan was changed after the draw, value by value.
    season : str
        Rain and heat from sowing to harvest in one sentence; empty where not recorded.
    season_summary : SeasonSummary or None
        Heat, stages and water by method; None where no weather is recorded.
    walk : WalkResult or None
        What was seen on crop walks; root pits in it are shown and nothing is computed from them.
    sown_and_stood : SownAndStood or None
        How the strips were really sown and how the crop stood.
    """

    plan: Plan
    draws: tuple[Draw, ...]
    harvest: Harvest
    comparison: Comparison
    methods: tuple[MethodVerdict, ...]
    fairness: tuple[Check, ...]
    side_results: tuple[SideResult, ...]
    detectable_gain: float | None
    weak_points: tuple[str, ...]
    headline: str
    cannot_say: tuple[str, ...]
    provenance: Provenance
    later_changes: tuple[str, ...] = ()
    season: str = ""
    season_summary: SeasonSummary | None = None
    walk: WalkResult | None = None
    sown_and_stood: SownAndStood | None = None

    @property
    def draw(self) -> Draw:
        """The draw that counts."""
        return self.draws[-1]

    @property
    def factor_sentences(self) -> tuple[str, ...]:
        """What each of two factors did, in plain words; empty where the trial has one."""
        return factor_sentences(self.comparison.factor_effects, what(self.plan.outcome))

    @property
    def not_compared(self) -> dict[str, str]:
        """Methods of which too little was weighed, each with what that leaves, in plain words; mostly empty."""
        return lost_sentences(self.plan, self.draw, self.harvest, self.comparison)

    @property
    def main(self) -> MethodVerdict:
        """The method with the best expected net."""
        return self.methods[0]
