"""The plan: what was meant. One frozen record per section of ``trial.toml``."""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from evenground.basis.factors import FactorGrid, FactorsSection, factor_faults, factor_grid
from evenground.basis.herd_plan import HerdSection
from evenground.basis.layout_plan import (
    STRIP_ERROR_SOURCE,
    EffortSection,
    HistorySection,
    LayoutSection,
    SecondFieldSection,
    UnevennessSection,
)
from evenground.basis.method import Machine, Method
from evenground.basis.money import Fraction, Prices
from evenground.basis.outcome_plan import OutcomeSection
from evenground.basis.record import Contradictions, Record
from evenground.basis.season_plan import SeasonSection, SoilSection
from evenground.basis.sowing_plan import (
    Agreement,
    SeedSection,
    SowingSection,
    StarterSection,
    letter_faults,
    lot_faults,
)

Percent = Annotated[float, Field(ge=0.0, le=100.0)]
Text = Annotated[str, Field(max_length=600)]
GAIN_PRIOR_SOURCE = "judgement on about twenty published comparisons of twin and narrow rows (docs/compare.md)"
SEASON_SD_SOURCE = "judgement: year-to-year spread at one site is not set below 2 % (docs/compare.md)"


class TrialSection(Record):
    """Section ``[trial]``: one comparison in one field in one season.

    Attributes
    ----------
    name, farm, question : str
        What to call it, where it is, what the farm wants to know.
    season : int
        Year of harvest.
    crop : {"maize"}
        Crop.
    invented : bool
        True for a made-up trial; every page then says so.
    rate_question : {"same_rate", "own_rate"}
        Same seeds per square metre for all methods, or each method at its advised rate.
    seed_lots : int
        Number of seed lots used; two lots must both go to every method.
    settings_told : bool
        False where only names and weights of the methods are known: seeds, rows, depth, speed and machines of the plan
        are placeholders then, and every page says that they were not told.
    """

    name: Annotated[str, Field(min_length=1, max_length=80)]
    season: Annotated[int, Field(ge=1990, le=2100)]
    crop: Literal["maize"] = "maize"
    farm: Text = ""
    question: Text = ""
    invented: bool = False
    rate_question: Literal["same_rate", "own_rate"] = "same_rate"
    seed_lots: Annotated[int, Field(ge=1, le=9)] = 1
    settings_told: bool = True


class PriorSection(Record):
    """Section ``[prior]``: what was believed before the harvest, in percent of the expected yield.

    Attributes
    ----------
    gain_mean_percent, gain_sd_percent : float
        Long-run gain of the method against the baseline [%]: mean and standard deviation.
    gain_source : str
        Where it comes from.
    season_sd_percent : float
        How far one season's gain lies from the long run [%], standard deviation.
    season_source : str
        Where it comes from.
    strip_error_percent : float
        Median of the strip error [%].
    strip_error_log_sd : float
        Spread of its logarithm [1].
    strip_error_source : str
        Where it comes from.
    """

    gain_mean_percent: Annotated[float, Field(ge=-30.0, le=30.0)] = 1.5
    gain_sd_percent: Annotated[float, Field(gt=0.0, le=50.0)] = 3.5
    gain_source: Text = GAIN_PRIOR_SOURCE
    season_sd_percent: Annotated[float, Field(ge=0.0, le=30.0)] = 2.0
    season_source: Text = SEASON_SD_SOURCE
    strip_error_percent: Annotated[float, Field(gt=0.0, le=40.0)] = 4.0
    strip_error_log_sd: Annotated[float, Field(gt=0.0, le=3.0)] = 0.5
    strip_error_source: Text = STRIP_ERROR_SOURCE


class AdviceSection(Record):
    """Section ``[advice]``: the limits of the advice, fixed with the draw.

    Attributes
    ----------
    largest_chance_of_loss : float
        "Use it" needs a chance of losing money no larger than this [1].
    fewest_blocks : int
        Fewer blocks than this: cannot tell [1].
    level : float
        Level of all intervals [1].
    worthwhile_loss_t_per_ha, worthwhile_loss_gj_per_ha : float or None
        Largest loss that would still be accepted ("not worse than") [t/ha; GJ/ha where energy is counted].
    """

    largest_chance_of_loss: Fraction = 0.2
    fewest_blocks: Annotated[int, Field(ge=2, le=60)] = 3
    level: Annotated[float, Field(ge=0.5, le=0.999)] = 0.9
    worthwhile_loss_t_per_ha: Annotated[float, Field(ge=0.0, le=20.0)] | None = None
    worthwhile_loss_gj_per_ha: Annotated[float, Field(ge=0.0, le=300.0)] | None = None


class PeopleSection(Record):
    """Section ``[people]``: who paid and who agreed; printed in the report.

    Attributes
    ----------
    paid_seed, paid_machine, paid_laboratory : str
        Who paid; an empty text is shown as "not said".
    agreed : tuple of str
        What each driver and lender agreed to or objected to before the draw, in free words.
    agreements : tuple of Agreement
        The same person by person: who agrees or objects to the settings, in which words, when.
    phones : tuple of str
        Whom to call on the day, as "who: number"; printed on the driver's card only.
    """

    paid_seed: Text = ""
    paid_machine: Text = ""
    paid_laboratory: Text = ""
    agreed: tuple[Text, ...] = ()
    agreements: Annotated[tuple[Agreement, ...], Field(max_length=40)] = ()
    phones: Annotated[tuple[Annotated[str, Field(max_length=80)], ...], Field(max_length=10)] = ()

    @property
    def answers(self) -> tuple[str, ...]:
        """Everything that was agreed or objected to, as sentences."""
        return (*(one.sentence for one in self.agreements), *self.agreed)


_NO_PRICES: tuple[tuple[str, ...], str, str] = ((), "", "")
# What is counted: the prices it needs, their unit, and why. A yield has prices by default.
_PRICES: dict[str, tuple[tuple[str, ...], str, str]] = {
    "energy": (
        ("value_short_year_per_gj", "value_full_year_per_gj"),
        "money/GJ",
        "energy is counted, so say what one more gigajoule is worth.",
    ),
    "starch": (
        ("starch_value_short_year_per_t", "starch_value_full_year_per_t"),
        "money/t",
        "starch is counted, so say what one more tonne of starch is worth; a tonne of dry matter has another price.",
    ),
}


class Plan(Record):
    """Everything that was meant before the season: the content of ``trial.toml``.

    Attributes
    ----------
    format : int
        Version of the file format.
    trial, outcome, factors, seed, starter, sowing, layout, unevenness, effort, history : sections
    second_field, soil, season, money, prior, advice, people, herd : sections
        See their classes.
    methods, machines : tuple
        What is compared, and with what.
    """

    format: Literal[1] = 1
    trial: TrialSection
    outcome: OutcomeSection = OutcomeSection()
    methods: Annotated[tuple[Method, ...], Field(min_length=2, max_length=6)]
    machines: Annotated[tuple[Machine, ...], Field(min_length=1, max_length=20)]
    factors: FactorsSection = FactorsSection()
    seed: SeedSection = SeedSection()
    starter: StarterSection = StarterSection()
    sowing: SowingSection = SowingSection()
    layout: LayoutSection = LayoutSection()
    unevenness: UnevennessSection = UnevennessSection()
    effort: EffortSection = EffortSection()
    history: HistorySection = HistorySection()
    second_field: SecondFieldSection = SecondFieldSection()
    soil: SoilSection = SoilSection()
    season: SeasonSection = SeasonSection()
    money: Prices = Prices()
    prior: PriorSection = PriorSection()
    advice: AdviceSection = AdviceSection()
    people: PeopleSection = PeopleSection()
    herd: HerdSection = HerdSection()

    @model_validator(mode="after")
    def _parts_agree(self) -> Self:
        faults = [
            *self._method_faults(),
            *self._machine_faults(),
            *lot_faults(self.seed, self.letters, self.trial.seed_lots),
            *factor_faults(self.factors, self.methods),
            *self._outcome_faults(),
        ]
        if faults:
            raise Contradictions(faults)
        return self

    def _method_faults(self) -> list[tuple[str, str, str, str]]:
        """Faults of the methods among themselves: field, given, allowed, message."""
        faults = []
        for letter, n in Counter(m.letter for m in self.methods).items():
            if n > 1:
                faults.append(("methods", letter, "each letter once", f"method letter {letter} is used {n} times."))
        n = sum(m.baseline for m in self.methods)
        if n != 1:
            faults.append(("methods", f"{n}", "exactly 1", "exactly one method must have baseline = true."))
        for i, access in enumerate(self.money.machine_access):
            if access.method not in self.letters:
                field, allowed = f"money.machine_access[{i}].method", "one of " + ", ".join(self.letters)
                faults.append((field, access.method, allowed, "there is no such method."))
        for i, one in enumerate(self.people.agreements):
            faults += letter_faults(one.methods, self.letters, f"people.agreements[{i}].methods")
        return faults

    def _machine_faults(self) -> list[tuple[str, str, str, str]]:
        """Faults between machines and what refers to them: field, given, allowed, message."""
        kinds = {m.id: m.kind for m in self.machines}
        planters = "one of " + ", ".join(k for k, v in kinds.items() if v == "planter")
        faults = []
        if len(kinds) != len(self.machines):
            faults.append(("machines", "", "each id once", "two machines have the same id."))
        for i, method in enumerate(self.methods):
            if kinds.get(method.machine) != "planter":
                faults.append((f"methods[{i}].machine", method.machine, planters, "there is no planter with this id."))
        harvester = self.layout.harvester
        if harvester is not None and kinds.get(harvester) not in ("forage_harvester", "combine"):
            allowed = "one of " + ", ".join(k for k, v in kinds.items() if v != "planter")
            faults.append(("layout.harvester", harvester, allowed, "there is no harvester with this id."))
        return faults

    def _outcome_faults(self) -> list[tuple[str, str, str, str]]:
        """Faults between what is counted and what it is worth: field, given, allowed, message."""
        needed, unit, message = _PRICES.get(self.outcome.counted, _NO_PRICES)
        faults = [(f"money.{n}", "", unit, message) for n in needed if getattr(self.money, n) is None]
        if self.outcome.counted == "energy" and self.advice.worthwhile_loss_t_per_ha is not None:
            field, given = "advice.worthwhile_loss_t_per_ha", f"{self.advice.worthwhile_loss_t_per_ha:g}"
            message = "energy is counted, so a loss is said in gigajoules."
            faults.append((field, given, "worthwhile_loss_gj_per_ha", message))
        return faults

    @property
    def values(self) -> tuple[float, float]:
        """Worth of one more unit of the outcome in a short and in a full year [money/t or money/GJ]."""
        money = self.money
        if self.outcome.counted == "energy":
            return money.value_short_year_per_gj or 0.0, money.value_full_year_per_gj or 0.0
        if self.outcome.counted == "starch":
            return money.starch_value_short_year_per_t or 0.0, money.starch_value_full_year_per_t or 0.0
        return money.value_short_year_per_t, money.value_full_year_per_t

    @property
    def value_of_one(self) -> float:
        """Expected worth of one more unit of the outcome over short and full years [money/t or money/GJ]."""
        short, full = self.values
        return self.money.chance_short_year * short + (1.0 - self.money.chance_short_year) * full

    @property
    def worthwhile_loss(self) -> float | None:
        """Largest loss that would still be accepted, in the outcome's unit [t/ha or GJ/ha]."""
        energy = self.outcome.counted == "energy"
        return self.advice.worthwhile_loss_gj_per_ha if energy else self.advice.worthwhile_loss_t_per_ha

    @property
    def baseline(self) -> Method:
        """The method the farm uses now."""
        return next(m for m in self.methods if m.baseline)

    @property
    def letters(self) -> tuple[str, ...]:
        """Method letters in the order of the file."""
        return tuple(m.letter for m in self.methods)

    @property
    def grid(self) -> FactorGrid | None:
        """Methods as a table of two factors; None where they are one."""
        return factor_grid(self.factors, self.methods)

    def strips_in_block(self, letter: str) -> int:
        """Return how many strips of a block a method has [1]."""
        return next(m.strips_per_block for m in self.methods if m.letter == letter)

    def machine(self, machine_id: str) -> Machine:
        """Return the machine with this id.

        Raises
        ------
        KeyError
            If there is none.
        """
        for machine in self.machines:
            if machine.id == machine_id:
                return machine
        raise KeyError(machine_id)
