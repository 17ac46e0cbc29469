"""One pen for all pictures: the drawing library keeps its settings in one place, so pictures are drawn one by one."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
Made = TypeVar("Made")
_PEN = threading.Lock()


def drawn(draw: Callable[P, Made], *args: P.args, **kwargs: P.kwargs) -> Made:
    """Draw something while nobody else does.

    Parameters
    ----------
    draw : callable
        What draws.
    *args, **kwargs
        What it is given.
    """
    with _PEN:
        return draw(*args, **kwargs)
