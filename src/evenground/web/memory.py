"""A bounded memory for what takes long to compute and can be computed again."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

Value = TypeVar("Value")
Key = tuple[object, ...]


class Kept(Generic[Value]):
    """A bounded memory, safe for several threads.

    Parameters
    ----------
    most : int
        Values kept [1]; the one not asked for longest goes first.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self._values: OrderedDict[Key, Value] = OrderedDict()
        self._turns: dict[Key, threading.Lock] = {}
        self._lock = threading.Lock()

    def get(self, key: Key, make: Callable[[], Value]) -> Value:
        """Return the value of a key; made if it is not there, once even where several ask for it at the same time.

        Parameters
        ----------
        key : tuple
            What the value depends on.
        make : callable
            Makes it; what fails to be made is not kept.
        """
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                return self._values[key]
            turn = self._turns.setdefault(key, threading.Lock())
        with turn:  # others go on reading meanwhile
            with self._lock:
                if key in self._values:
                    return self._values[key]
            try:
                made = make()
                with self._lock:
                    self._values[key] = made
                    while len(self._values) > self.most:
                        self._values.popitem(last=False)
            finally:
                with self._lock:
                    self._turns.pop(key, None)
        return made

    def __contains__(self, key: Key) -> bool:
        with self._lock:
            return key in self._values

    def __len__(self) -> int:
        with self._lock:
            return len(self._values)
