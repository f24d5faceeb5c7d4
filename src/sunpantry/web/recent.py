"""The last few things that were made, by key."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Recent(Generic[T]):
    """The last few things, by key."""

    def __init__(self, most: int) -> None:
        self.most = most
        self._kept: OrderedDict[str, T] = OrderedDict()

    def get(self, key: str, make: Callable[[], T]) -> T:
        """Find a thing, or make and keep it."""
        found = self.look(key)
        if found is None:
            found = make()
            self.put(key, found)
        return found

    def look(self, key: str) -> T | None:
        """Find a thing, if it is still there."""
        if key in self._kept:
            self._kept.move_to_end(key)
        return self._kept.get(key)

    def drop(self, key: str) -> None:
        """Forget a thing."""
        self._kept.pop(key, None)

    def put(self, key: str, value: T) -> None:
        """Keep a thing; the least used goes."""
        self._kept[key] = value
        self._kept.move_to_end(key)
        while len(self._kept) > self.most:
            self._kept.popitem(last=False)
