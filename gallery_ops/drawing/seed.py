"""A small seeded generator: the same tank must be the same picture for ever.

Python's own generator may change its methods between versions; this one is written out.
Source: splitmix64, S. Vigna, public domain (constants from memory of that text).
"""

_MASK = (1 << 64) - 1


def seed_of(text: str) -> int:
    """64-bit seed of a text (FNV-1a)."""
    value = 0xCBF29CE484222325
    for byte in text.encode():
        value = ((value ^ byte) * 0x100000001B3) & _MASK
    return value


class Dice:
    """A stream of numbers in 0..1 that depends on its seed alone."""

    __slots__ = ("_state",)

    def __init__(self, text: str) -> None:
        self._state = seed_of(text)

    def roll(self) -> float:
        """Next number, 0 <= n < 1."""
        self._state = (self._state + 0x9E3779B97F4A7C15) & _MASK
        z = self._state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
        return ((z ^ (z >> 31)) >> 11) / (1 << 53)

    def between(self, low: float, high: float) -> float:
        """Number between two others."""
        return low + (high - low) * self.roll()

    def around(self, spread: float) -> float:
        """Number between -spread and spread."""
        return spread * (2 * self.roll() - 1)
