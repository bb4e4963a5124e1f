"""Chance from one seed, with a source of its own for everything that happens."""

from __future__ import annotations

import random


class Luck:
    """What is drawn for one thing depends on the seed and on the name of that thing alone.

    So neither the order in which a database gives rows, nor a task that is added to the catalogue,
    moves a gram that is weighed elsewhere.
    """

    def __init__(self, seed: int) -> None:
        self.seed = seed

    def of(self, *what: str | int) -> random.Random:
        """The source for one thing: what it is, where, so many days ago."""
        name = "/".join(map(str, (self.seed, *what)))
        return random.Random(name)  # noqa: S311 - believable history, no secret
