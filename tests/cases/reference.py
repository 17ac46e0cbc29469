"""Mixed models fitted by R (lme4 + pbkrtest + lmerTest + emmeans): the data, the fixed matrix and the random factors.

Numbers: cases/r/mixed_models.json, made by cases/r/mixed_models.R (R 4.2.2, lme4 1.1.31, pbkrtest 0.5.2, lmerTest,
emmeans 1.8.4.1), 17 significant digits; further ones: cases/r/more_models.json, made by cases/r/more_models.R.
Data: cases/data/*.csv, open sets whose sources stand beside each case below.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

HERE = Path(__file__).parent
Row = dict[str, str]
Term = tuple[str, ...]


def mixed_models() -> dict[str, Any]:
    """What R printed for the first set of models."""
    return dict(json.loads((HERE / "r" / "mixed_models.json").read_text()))


def more_models() -> dict[str, Any]:
    """What R printed for the second set of models."""
    return dict(json.loads((HERE / "r" / "more_models.json").read_text()))


def rows(name: str) -> list[Row]:
    """One of the data files as a list of rows."""
    with (HERE / "data" / name).open(newline="") as file:
        return list(csv.DictReader(file))


@dataclass(frozen=True)
class Model:
    """A model as R's formula would say it; `levels` gives the order of levels of each fixed factor."""

    table: list[Row]
    outcome: str
    fixed: tuple[Term, ...]
    random: tuple[Term, ...]
    levels: dict[str, list[str]]
    covariates: tuple[str, ...] = ()
    log_plus_one: bool = False
    shown: dict[str, str] = field(default_factory=dict)
    """R's name of a factor where it differs from the column's."""

    @property
    def y(self) -> npt.NDArray[np.float64]:
        """The outcome."""
        values = np.array([float(row[self.outcome]) for row in self.table])
        return np.log(values + 1.0) if self.log_plus_one else values

    @property
    def factors(self) -> list[npt.NDArray[np.int64]]:
        """A code array for each random factor."""
        result = []
        for term in self.random:
            keys = ["|".join(row[name] for name in term) for row in self.table]
            order = sorted(set(keys))
            result.append(np.array([order.index(key) for key in keys], dtype=np.int64))
        return result

    def design(self, table: Sequence[Row] | None = None, sum_to_zero: bool = False) -> npt.NDArray[np.float64]:
        """Fixed-effects matrix with an intercept, in treatment or sum-to-zero coding."""
        source = self.table if table is None else table
        columns = [np.ones((len(source), 1))]
        for term in self.fixed:
            block = np.ones((len(source), 1))
            for name in term:
                part = self._coded(source, name, sum_to_zero)
                # R lets the first factor of an interaction run fastest.
                block = np.einsum("na,nb->nba", block, part).reshape(len(source), -1)
            columns.append(block)
        return np.hstack(columns)

    def _coded(self, source: Sequence[Row], name: str, sum_to_zero: bool) -> npt.NDArray[np.float64]:
        if name in self.covariates:
            return np.array([[float(row[name])] for row in source])
        order = self.levels[name]
        base = (
            np.vstack([np.eye(len(order) - 1), -np.ones(len(order) - 1)]) if sum_to_zero else np.eye(len(order))[:, 1:]
        )
        return base[[order.index(row[name]) for row in source]]

    def term_slices(self) -> dict[str, slice]:
        """Columns of each fixed term, under R's name for it."""
        result, start = {}, 1
        for term in self.fixed:
            size = math.prod(1 if name in self.covariates else len(self.levels[name]) - 1 for name in term)
            result[":".join(self.shown.get(name, name) for name in term)] = slice(start, start + size)
            start += size
        return result

    def marginal_hypothesis(self, term: str) -> npt.NDArray[np.float64]:
        """Rows that test a term with all others in the model (type III: equal-weight margins)."""
        turn = np.linalg.lstsq(self.design(), self.design(sum_to_zero=True), rcond=None)[0]
        return np.linalg.inv(turn)[self.term_slices()[term]]

    def marginal_means(self, name: str) -> dict[str, npt.NDArray[np.float64]]:
        """Weights of the coefficients for the mean at each level of a factor, other factors averaged alike."""
        names = sorted({part for term in self.fixed for part in term})
        result = {}
        for level in self.levels[name]:
            choices = [[level] if part == name else self.levels[part] for part in names]
            grid = [dict(zip(names, combination, strict=True)) for combination in product(*choices)]
            result[level] = self.design(grid).mean(0)
        return result


def _sorted_levels(table: list[Row], *names: str) -> dict[str, list[str]]:
    def key(text: str) -> tuple[float, str]:
        try:
            return float(text), ""
        except ValueError:
            return math.inf, text.lower()

    return {name: sorted({row[name] for row in table}, key=key) for name in names}


def _without(table: list[Row], *numbers: int) -> list[Row]:
    return [row for number, row in enumerate(table, 1) if number not in numbers]


def _oats() -> list[Row]:
    """Yates (1935), J. R. Stat. Soc. Suppl. 2, 181-247."""
    return rows("nlme_Oats.csv")


def _two_varieties() -> list[Row]:
    """Means over nitrogen of two varieties, ordered by variety, then block, as R's aggregate does."""
    cells: dict[tuple[str, str], list[float]] = {}
    for row in _oats():
        if row["Variety"] != "Marvellous":
            cells.setdefault((row["Variety"], row["Block"]), []).append(float(row["yield"]))
    return [
        {"Variety": variety, "Block": block, "yield": repr(sum(values) / len(values))}
        for (variety, block), values in sorted(cells.items())
    ]


def darwin_rows() -> list[Row]:
    """Darwin (1876), The Effects of Cross and Self Fertilisation: 15 pairs of maize, cross above self, stacked."""
    table = rows("HistData_ZeaMays.csv")
    return [
        {"pair": r["pair"], "pot": r["pot"], "type": kind, "height": r[kind]}
        for kind in ("cross", "self")
        for r in table
    ]


ANTIGUA_TREATMENTS = ["111", "0", "2", "20", "22", "113", "131", "200", "202", "220", "222", "311"]


def _island(name: str) -> tuple[list[Row], dict[str, list[str]]]:
    """Andrews & Herzberg (1985), Data, table 58: maize on two islands; rows without a weight are left out."""
    return [row for row in rows(name) if row["harvwt"] not in ("", "NA")], {"trt": ANTIGUA_TREATMENTS}


def model(name: str) -> Model:
    """The model behind one entry of the R results."""
    return (_MODELS | _MORE)[name]()


def _oats_model(fixed: tuple[Term, ...], table: list[Row]) -> Model:
    levels = _sorted_levels(_oats(), "nitro", "Variety")
    random: tuple[Term, ...] = (("Block", "Variety"), ("Block",))
    return Model(table, "yield", fixed, random, levels, shown={"nitro": "nf"})


def _oats_linear() -> Model:
    return Model(_oats(), "yield", (("nitro",),), (("Block", "Variety"), ("Block",)), {}, ("nitro",))


def _oats_pairs(*dropped: int) -> Model:
    table = _without(_two_varieties(), *dropped)
    return Model(table, "yield", (("Variety",),), (("Block",),), _sorted_levels(table, "Variety"))


def _npk(*fixed: Term) -> Model:
    """Venables & Ripley (2002), Modern Applied Statistics with S: a factorial on peas."""
    table = rows("datasets_npk.csv")
    return Model(table, "yield", fixed, (("block",),), _sorted_levels(table, "N", "P", "K"))


def _darwin(random: tuple[Term, ...], *dropped: int) -> Model:
    return Model(_without(darwin_rows(), *dropped), "height", (("type",),), random, {"type": ["self", "cross"]})


def _kiwishade() -> Model:
    """Snelgar, Manson & Martin (1992), J. Hort. Sci. 67, 481-487."""
    levels = {"shade": ["none", "Aug2Dec", "Dec2Feb", "Feb2May"]}
    return Model(rows("DAAG_kiwishade.csv"), "yield", (("shade",),), (("block", "plot"), ("block",)), levels)


def _alfalfa() -> Model:
    """Snedecor & Cochran (1980), Statistical Methods."""
    table = rows("nlme_Alfalfa.csv")
    levels = _sorted_levels(table, "Date", "Variety")
    levels["Date"] = ["", "O7", "S1", "S20"]
    fixed: tuple[Term, ...] = (("Date",), ("Variety",), ("Date", "Variety"))
    return Model(table, "Yield", fixed, (("Block", "Variety"), ("Block",)), levels)


def _beets(outcome: str, *dropped: int) -> Model:
    """Halekoh & Hojsgaard (2014), J. Stat. Softw. 59(9), their sugar beet split plot."""
    table = rows("pbkrtest_beets.csv")
    levels = _sorted_levels(table, "block", "sow", "harvest")
    fixed: tuple[Term, ...] = (("block",), ("sow",), ("harvest",))
    return Model(_without(table, *dropped), outcome, fixed, (("block", "harvest"),), levels)


def _maize(name: str, random: tuple[Term, ...], only: tuple[str, ...] = (), site: str = "") -> Model:
    table, levels = _island(name)
    if only:
        table = [row for row in table if row["trt"] in only and site in ("", row["site"])]
        levels = {"trt": [level for level in ANTIGUA_TREATMENTS if level in only]}
    return Model(table, "harvwt", (("trt",),), random, levels)


def _one_way(name: str) -> Model:
    return Model(rows(name), "harvwt", (), (("site",),), {})


def _turnip() -> Model:
    """Mead (1988), The Design of Experiments, example 12.3."""
    table = rows("agri_turnip_density.csv")
    levels = _sorted_levels(table, "density", "spacing")
    fixed: tuple[Term, ...] = (("density",), ("spacing",), ("density", "spacing"))
    return Model(table, "yield", fixed, (("block",),), levels, log_plus_one=True)


def _wheat() -> Model:
    """Goulden (1939), Methods of Statistical Analysis, p. 18."""
    table = rows("agri_wheat_splitsplit.csv")
    levels = _sorted_levels(table, "gen", "trt", "inoc")
    fixed: tuple[Term, ...] = (("gen",), ("trt",), ("inoc",), ("gen", "trt"))
    return Model(table, "yield", fixed, (("block", "gen", "trt"), ("block", "gen"), ("block",)), levels)


def _cowpea() -> Model:
    """Mead (1990), a maize and cowpea intercrop."""
    table = rows("agri_cowpea_maize_yield.csv")
    levels = _sorted_levels(table, "nitro", "maize", "cowpea")
    fixed: tuple[Term, ...] = (("nitro",), ("maize",), ("cowpea",), ("nitro", "maize"))
    return Model(table, "myield", fixed, (("block",),), levels)


def _invented(name: str, outcome: str, *dropped: int) -> Model:
    table = _without(rows(name), *dropped)
    return Model(table, outcome, (("trt",),), (("block",),), {"trt": ["A", "B"]})


def _stroup(*dropped: int) -> Model:
    """Stroup (1989), in Applications of Mixed Models in Agriculture, Southern Cooperative Series Bulletin 343."""
    table = _without(rows("stroup_splitplot.csv"), *dropped)
    fixed: tuple[Term, ...] = (("a",), ("b",), ("a", "b"))
    return Model(table, "y", fixed, (("block", "a"), ("block",)), _sorted_levels(table, "a", "b"))


def _slate_hall(random: tuple[Term, ...]) -> Model:
    """Gilmour, Cullis & Verbyla (1997), JABES 2, 269-293: balanced lattice of 25 varieties, 1978."""
    table = [row | {"rep": _five(row["row"]) + _five(row["col"])} for row in rows("slate_hall_1978.csv")]
    return Model(table, "grams", (("variety",),), random, _sorted_levels(table, "variety"))


def _five(number: str) -> str:
    return str((int(number) - 1) // 5)


def _incomplete() -> Model:
    table = rows("invented_incomplete_blocks.csv")
    return Model(table, "y", (("trt",), ("rep",)), (("block",),), _sorted_levels(table, "trt", "rep"))


def _plots(outcome: str, blocks_fixed: bool = False) -> Model:
    table = rows("invented_plots_in_strips.csv")
    levels = _sorted_levels(table, "trt", "block")
    if blocks_fixed:
        return Model(table, outcome, (("trt",), ("block",)), (("strip",),), levels)
    return Model(table, outcome, (("trt",),), (("block",), ("strip",)), levels)


_SITES: tuple[Term, ...] = (("site", "block"), ("site",))
_SITES_AND_TREATMENTS: tuple[Term, ...] = (("site", "trt"), ("site", "block"), ("site",))
_NITRO, _VARIETY = ("nitro",), ("Variety",)

_MODELS = {
    "oats_splitplot": lambda: _oats_model((_NITRO, _VARIETY, ("nitro", "Variety")), _oats()),
    "oats_splitplot_main": lambda: _oats_model((_NITRO, _VARIETY), _oats()),
    "oats_linear": _oats_linear,
    "oats_unbalanced": lambda: _oats_model((_NITRO, _VARIETY), _without(_oats(), 1, 5, 6, 17, 23, 40, 41, 66)),
    "oats_two_variety_plots": _oats_pairs,
    "oats_two_variety_plots/missing_one": lambda: _oats_pairs(3),
    "npk": lambda: _npk(("N",), ("P",), ("K",), ("N", "P"), ("N", "K"), ("P", "K")),
    "npk_N": lambda: _npk(("N",)),
    "darwin": lambda: _darwin((("pair",),)),
    "darwin_pot": lambda: _darwin((("pot", "pair"), ("pot",))),
    "darwin_missing": lambda: _darwin((("pair",),), 2, 18, 25),
    "kiwishade": _kiwishade,
    "alfalfa": _alfalfa,
    "beets_sugpct": lambda: _beets("sugpct"),
    "beets_yield_unbal": lambda: _beets("yield", 3, 9, 10, 21),
    "antigua_all": lambda: _maize("DAAG_antigua.csv", _SITES),
    "antigua_gxe": lambda: _maize("DAAG_antigua.csv", _SITES_AND_TREATMENTS),
    "antigua_311_vs_111": lambda: _maize("DAAG_antigua.csv", _SITES_AND_TREATMENTS, ("111", "311")),
    "antigua_DBAN_311_vs_111": lambda: _maize("DAAG_antigua.csv", (("block",),), ("111", "311"), "DBAN"),
    "ant111b": lambda: _one_way("DAAG_ant111b.csv"),
    "stVincent_all": lambda: _maize("DAAG_stVincent.csv", _SITES),
    "vince111b": lambda: _one_way("DAAG_vince111b.csv"),
    "cowpea_maize_myield": _cowpea,
    "turnip_density": _turnip,
    "wheat_splitsplit": _wheat,
    "boundary_zero_block": lambda: _invented("boundary_blocks.csv", "y"),
    "sim16": lambda: _invented("sim_16strips.csv", "yield"),
    "sim16_lost5": lambda: _invented("sim_16strips.csv", "yield", 5),
    "sim16_lost5_6_11": lambda: _invented("sim_16strips.csv", "yield", 5, 6, 11),
}
_MORE = {
    "stroup": _stroup,
    "stroup_missing": lambda: _stroup(1),
    "slate_hall_rows_columns": lambda: _slate_hall((("row",), ("col",))),
    "slate_hall_lattice": lambda: _slate_hall((("rep", "row"), ("rep", "col"), ("rep",))),
    "incomplete_blocks": _incomplete,
    "plots_in_strips": lambda: _plots("y"),
    "plots_in_strips_alike": lambda: _plots("y_alike"),
    "plots_in_strips_fixed": lambda: _plots("y_alike", blocks_fixed=True),
}
MODEL_NAMES = tuple(_MODELS | _MORE)


def expected(name: str) -> dict[str, Any]:
    """What R printed for a model."""
    result: Any = more_models() if name in _MORE else mixed_models()
    for part in name.split("/"):
        result = result[part]
    return dict(result)
