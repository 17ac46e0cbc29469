"""How numbers, chances and states are written, the same on every page."""

from __future__ import annotations

import math

from evenground.basis.thousands import grouped

MINUS = "−"
NONE = "–"

ACTIONS = {"adopt": "Use it", "repeat": "Try again", "drop": "Leave it", "cannot_tell": "Cannot tell"}
WAYS = {"hire": "Hire", "own": "Own", "shared": "Shared with neighbours"}
STATES = {
    "weighed": "weighed",
    "missing": "no weight",
    "lost": "lost",
    "not_sown": "not sown",
    "other_product": "other product",
}
CHECK_STATES = {"alike": "alike", "differs": "differs", "unknown": "not known"}
STAGE_WORDS = {
    "emergence": "emergence",
    "three_leaves": "three leaf collars",
    "flowering": "flowering",
    "silage": "silage, 32 % dry matter",
}
LIMITS = {
    "tramline": "wheel tracks shared evenly",
    "covariates": "known differences of the ground shared evenly",
    "equal_orders": "each order of the methods equally often",
    "linear_trend": "no method favoured by a change across the field",
    "quadratic_trend": "no method favoured by a hump or hollow across the field",
    "edge": "no method favoured at the edge strips",
    "both_together": "the order of the one factor does not go with the other",
}


def number(value: float | None, digits: int = 0) -> str:
    r"""Write a number with a real minus sign and thin spaces between thousands [unit of the value].

    Examples
    --------
    >>> number(-0.04, 1), number(-1.25, 1), number(None)
    ('0.0', '−1.2', '–')
    >>> number(12345.6).replace("\u202f", " ")
    '12 346'
    """
    if value is None or not math.isfinite(value):
        return NONE
    text = grouped(abs(value), digits)
    return MINUS + text if value < 0 and float(f"{value:.{digits}f}") != 0 else text


def signed(value: float | None, digits: int = 1) -> str:
    """Write a number with its sign, plus included; zero has none [unit of the value].

    Examples
    --------
    >>> signed(0.6), signed(-0.3), signed(0.01)
    ('+0.6', '−0.3', '0.0')
    """
    if value is None or not math.isfinite(value):
        return NONE
    rounded = float(f"{value:.{digits}f}")
    return f"+{number(value, digits)}" if rounded > 0 else number(value, digits)


def span(interval: tuple[float, float] | None, digits: int = 1) -> str:
    """Write an interval in words [unit of its ends].

    Examples
    --------
    >>> span((-0.1, 1.3))
    '−0.1 to +1.3'
    """
    return NONE if interval is None else f"{signed(interval[0], digits)} to {signed(interval[1], digits)}"


def percent(fraction: float | None, digits: int = 0) -> str:
    """Write a fraction in percent.

    Examples
    --------
    >>> percent(0.905), percent(0.3312, 1)
    ('90 %', '33.1 %')
    """
    return NONE if fraction is None else f"{number(100.0 * fraction, digits)} %"


def of_twenty(chance: float) -> int:
    """Return a chance [1] as a count out of twenty [1].

    Examples
    --------
    >>> of_twenty(0.65), of_twenty(0.99)
    (13, 20)
    """
    return round(20.0 * chance)


def p_value(p: float | None) -> str:
    """Write a p-value [1] with two meaning digits, never as zero.

    Examples
    --------
    >>> p_value(0.0497), p_value(0.31), p_value(0.00002), p_value(None)
    ('0.050', '0.31', 'below 0.0001', '–')
    """
    if p is None:
        return NONE
    if p < 0.0001:
        return "below 0.0001"
    return f"{p:.2f}" if p >= 0.1 else f"{p:.3f}" if p >= 0.01 else f"{p:.4f}"


def listing(words: tuple[str, ...] | list[str]) -> str:
    """Join words as in a sentence.

    Examples
    --------
    >>> listing(["1"]), listing(["1", "2", "5"])
    ('1', '1, 2 and 5')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def sentence(text: str) -> str:
    """Write a half sentence as a whole one: a capital first, a full stop last.

    Examples
    --------
    >>> sentence("one strip was lost"), sentence("Load 7 was weighed twice."), sentence("")
    ('One strip was lost.', 'Load 7 was weighed twice.', '')
    """
    text = text.strip()
    return first_capital(text) + ("" if not text or text[-1] in ".!?" else ".")


def must_reach(gain: float, digits: int = 1, amount: str = "t") -> str:
    """Write what a method must reach to pay [t/ha or GJ/ha], also where nothing or everything pays.

    Examples
    --------
    >>> must_reach(0.41), must_reach(math.inf), must_reach(-math.inf)
    ('+0.4 t/ha', 'cannot pay', 'pays whatever it yields')
    """
    if math.isinf(gain):
        return "cannot pay" if gain > 0 else "pays whatever it yields"
    return f"{signed(gain, digits)} {amount}/ha"


def first_capital(text: str) -> str:
    """Write the first letter as a capital, the rest as it is.

    Examples
    --------
    >>> first_capital("starch was not measured")
    'Starch was not measured'
    """
    return text[:1].upper() + text[1:]
