"""The one place where the steps meet: plan and records in, verdict out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from evenground.basis.canonical import later_changes
from evenground.basis.days import said_day
from evenground.basis.errors import CannotCompareError
from evenground.basis.observations import Records, current
from evenground.basis.plan import Plan
from evenground.basis.store import Stored
from evenground.basis.strip import Draw
from evenground.compare.compare import compare
from evenground.compare.comparison import Comparison, MethodComparison, Priors
from evenground.compare.not_worse import NotWorse, not_worse
from evenground.compare.values import StripValues
from evenground.decide import sentences as say
from evenground.decide.adjusted_gain import AdjustedGain, adjusted_gains
from evenground.decide.advice import Facts, advise
from evenground.decide.allowed_orders import blocks_as_drawn, references_of
from evenground.decide.assumptions import priors_of, variations
from evenground.decide.budget import budget
from evenground.decide.feed_meaning import feed_meaning
from evenground.decide.lost_methods import lost_methods
from evenground.decide.money_range import money_range, value_of_another_year
from evenground.decide.side_comparison import side_results
from evenground.decide.side_outcomes import side_outcomes
from evenground.decide.sown_and_stood import sown_and_stood
from evenground.decide.split_trial import split_of
from evenground.decide.strip_values import as_strip_values, stand_values
from evenground.decide.verdict_record import MethodVerdict, PriorSensitivity, Provenance, Verdict
from evenground.decide.walk_result import not_yet_in, walk_result
from evenground.decide.weak_points import Looked, weak_points
from evenground.decide.worth import Advice, Budget, MoneyRange
from evenground.fairness.check import Check
from evenground.fairness.checks import fairness, total_bias
from evenground.harvest.strips import Harvest, harvest
from evenground.layout.detectable import detectable_of
from evenground.season.daily import Years
from evenground.season.summary import SeasonSummary, season_summary
from evenground.stand.plants import stand


def verdict(stored: Stored, *, today: date, version: str, seed: int = 0, years: Years | None = None) -> Verdict:
    """Say what the difference was, how sure that is, what it is worth and what to do next year.

    Parameters
    ----------
    stored : Stored
        Plan, draws and records as loaded.
    today : date
        Day of the computation; only written down.
    version : str
        Program version; only written down.
    seed : int
        Seed for reference sets too large to list.
    years : Years or None
        Weather of earlier years, to say how unusual the season was.

    Returns
    -------
    Verdict
        A pure function of its arguments.

    Raises
    ------
    CannotCompareError
        If nothing was drawn or too little was weighed to compare anything.
    InputError
        If a record names a strip or method that does not exist.
    """
    trial = _Trial.of(stored, seed)
    methods = sorted((trial.method_verdict(c) for c in trial.comparison.comparisons), key=lambda m: -m.money.likely)
    main = methods[0]
    season = _season(stored, trial, years)
    sides = side_results(side_outcomes(trial.plan, trial.draw, stored.records, trial.harvest), trial.plan, trial.draw)
    walk = walk_result(trial.plan, trial.draw, stored.records, trial.harvest)
    late = (*_changed_later(trial.later_changes), *_drawn_late(trial.draw, stored.records))
    points = (*weak_points(trial.looked(main.comparison)), *late)
    name = next(m.name for m in trial.plan.methods if m.letter == main.comparison.method)
    return Verdict(
        plan=trial.plan,
        draws=stored.draws,
        harvest=trial.harvest,
        comparison=trial.comparison,
        methods=tuple(methods),
        fairness=trial.checks,
        side_results=(*sides, *not_yet_in(sides, walk)),
        detectable_gain=trial.detectable_gain,
        weak_points=points,
        headline=say.headline(main.advice, main.comparison.method, name),
        cannot_say=say.cannot_say(trial.plan.outcome, feed_measured=bool(trial.harvest.feed)),
        provenance=Provenance(
            version=version,
            plan_hash=stored.plan_hash,
            records_hash=stored.records_hash,
            seeds={"draw": trial.draw.seed, "randomisation": seed},
            computed_on=today.isoformat(),
            files={years.file: years.sha256} if years is not None and season is not None else {},
        ),
        later_changes=trial.later_changes,
        season=season.weather.sentence if season and season.weather else "",
        season_summary=season,
        walk=None if walk.empty else walk,
        sown_and_stood=sown_and_stood(trial.plan, trial.draw, stored.records),
    )


def _season(stored: Stored, trial: _Trial, years: Years | None) -> SeasonSummary | None:
    """Sum the season up from the trial's own weather; None where none is recorded."""
    if not current(stored.records.weather):
        return None
    latitude = None if stored.field is None else stored.field.boundary.centroid.y
    long = years.weather if years is not None else None
    return season_summary(trial.plan, trial.draw, stored.records, latitude, long)


def _changed_later(changes: tuple[str, ...]) -> tuple[str, ...]:
    """Say as a weak point that the plan was changed after the draw."""
    if not changes:
        return ()
    what = "1 value" if len(changes) == 1 else f"{len(changes)} values"
    return (
        f"the plan was changed after the strips were drawn ({what}), so part of it was not fixed before the harvest",
    )


def _drawn_late(draw: Draw, records: Records) -> tuple[str, ...]:
    """Say as a weak point that the draw came on record only after the strips were sown."""
    sown = [e.time.date() for e in current(records.events) if e.event == "sown"]
    kept = draw.drawn_at.date()
    if not sown or kept <= min(sown):
        return ()
    told = f" ({draw.reason})" if draw.reason else ""
    return (
        f"the draw was put on record on {said_day(kept)}, after sowing on {said_day(min(sown))}; that chance decided "
        f"which strip got which method rests on what was told{told}",
    )


@dataclass(frozen=True)
class _Trial:
    """Everything the verdict on each method draws on."""

    plan: Plan
    draw: Draw
    harvest: Harvest
    values: StripValues
    priors: Priors
    comparison: Comparison
    others: tuple[tuple[str, Comparison], ...]
    checks: tuple[Check, ...]
    detectable_gain: float | None
    adjusted: tuple[AdjustedGain, ...]

    @classmethod
    def of(cls, stored: Stored, seed: int) -> _Trial:
        """Run the steps up to the comparison."""
        plan, draw = stored.plan, stored.draw
        if draw is None:
            raise CannotCompareError("no strips are drawn yet; lay the trial out first.")
        came_off = harvest(plan, draw, stored.records)
        if came_off.counted.refused:
            raise CannotCompareError(f"{came_off.counted.refused}.")
        values = as_strip_values(came_off)
        baseline, level, priors = plan.baseline.letter, plan.advice.level, priors_of(plan, came_off)
        per_ha = f"{plan.outcome.amount}/ha"
        two = split_of(draw, seed)
        main = compare(
            values,
            baseline,
            level=level,
            priors=priors,
            reference=references_of(draw, came_off, baseline, seed),
            seed=seed,
            split=two,
        )
        # the same again under other assumptions; no assumption touches the randomisation test, so it is left out
        others = tuple(
            (label, compare(values, baseline, level=level, priors=changed, reference={}, split=split_of(draw)))
            for label, changed in variations(priors)
        )
        return cls(
            plan=plan,
            draw=draw,
            harvest=came_off,
            values=values,
            priors=priors,
            comparison=main,
            others=others,
            checks=fairness(plan, draw, stored.records, came_off, stored.field),
            detectable_gain=detectable_of(plan, draw).t_per_ha,
            adjusted=adjusted_gains(values, stand_values(stand(plan, draw, stored.records)), baseline, level, per_ha),
        )

    @property
    def later_changes(self) -> tuple[str, ...]:
        """What of the plan was changed after the draw."""
        return later_changes(self.draw.plan_text, self.plan)

    def blocks_with(self, method: str) -> int:
        """Count the blocks in which both the method and the baseline were weighed [1]."""
        by_method = {
            letter: {b for b, m in zip(self.values.blocks, self.values.methods, strict=True) if m == letter}
            for letter in (method, self.plan.baseline.letter)
        }
        return len(set.intersection(*by_method.values()))

    def looked(self, one: MethodComparison) -> Looked:
        """Gather what the weak points look at."""
        checks = tuple(c for c in self.checks if c.method == one.method)
        lost = lost_methods(self.plan, self.comparison)
        return Looked(self.plan, self.harvest, one, checks, self.blocks_with(one.method), lost)

    def method_verdict(self, one: MethodComparison) -> MethodVerdict:
        """Put the verdict on one method together."""
        method = next(m for m in self.plan.methods if m.letter == one.method)
        cost = budget(self.plan, method)
        worth, advice = self.advice(one, self.priors, cost)
        must = cost.chosen.worthwhile_gain
        pays = one.posterior.mu.chance_above(must)
        return MethodVerdict(
            comparison=one,
            budget=cost,
            money=worth,
            worthwhile_gain=must,
            chance_it_pays=pays,
            chance_it_pays_next_year=one.posterior.next_season.chance_above(must),
            advice=advice,
            sensitivity=tuple(
                self.sensitivity(label, other.against_baseline(one.method), other.priors, cost)
                for label, other in self.others
            ),
            sentences=self.sentences(one, cost, pays, advice),
            adjusted=next((a for a in self.adjusted if a.method == one.method), None),
            not_worse=self._not_worse(one),
            feed=feed_meaning(self.plan, self.harvest, self.comparison, one, cost),
        )

    def _not_worse(self, one: MethodComparison) -> NotWorse | None:
        """Answer against the loss the plan would accept, where it names one above zero."""
        loss = self.plan.worthwhile_loss
        return not_worse(one, loss) if loss else None

    def advice(self, one: MethodComparison, priors: Priors, cost: Budget) -> tuple[MoneyRange, Advice]:
        """Put money on a comparison and say what to do."""
        money = self.plan.money
        worth = money_range(one.posterior, cost, money.area_ha, one.level)
        facts = Facts(
            gain=one.gain,
            worthwhile_gain=cost.chosen.worthwhile_gain,
            expected_net=worth.likely,
            chance_of_loss=worth.chance_of_loss,
            blocks=self.blocks_with(one.method),
            randomised=blocks_as_drawn(self.harvest, one.method, one.baseline) > 0,
            bias=total_bias(self.checks, one.method),
            value_of_another_year=value_of_another_year(one, priors, cost, money.area_ha, money.horizon_years),
            cost_of_another_year=money.trial_cost_per_year,
            currency=money.currency,
            amount=self.plan.outcome.amount,
        )
        return worth, advise(facts, self.plan.advice)

    def sensitivity(self, label: str, one: MethodComparison, priors: Priors, cost: Budget) -> PriorSensitivity:
        """Give the main answers again under another assumption."""
        must, posterior = cost.chosen.worthwhile_gain, one.posterior
        return PriorSensitivity(
            label=label,
            mean=posterior.theta.mean,
            sd=posterior.theta.sd,
            chance_it_pays=posterior.mu.chance_above(must),
            chance_it_pays_next_year=posterior.next_season.chance_above(must),
            action=self.advice(one, priors, cost)[1].action,
        )

    def sentences(self, one: MethodComparison, cost: Budget, pays: float, advice: Advice) -> tuple[str, ...]:
        """Say it in plain words, in the fixed order."""
        outcome, season = self.plan.outcome, self.plan.trial.season
        return (
            say.seen(
                one.method,
                one.baseline,
                one.gain,
                one.interval,
                outcome,
                season,
                self.detectable_gain,
                feed_measured=bool(self.harvest.feed),
            ),
            say.how_far(one.interval, one.level),
            say.must_reach(cost),
            say.out_of_twenty(pays, self.priors, outcome.amount),
            say.weakest(weak_points(self.looked(one))[0]),
            say.next_step(advice),
        )
