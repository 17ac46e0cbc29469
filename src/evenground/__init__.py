"""evenground: fair comparisons of ways of sowing maize, from bare field to verdict."""

__version__ = "0.1.0"
