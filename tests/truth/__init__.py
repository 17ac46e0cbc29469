"""Simulation tables: what the tests and intervals really do when the truth is known.

`python -m tests.truth --write docs/truth.md` writes them all; the tests beside run a tenth of each.
"""
