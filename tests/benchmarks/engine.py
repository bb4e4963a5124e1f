"""How fast is the forecast of many stocks, beside the plain simulation anybody would write first?

    python -m tests.benchmarks.engine [--rounds 7] [--stocks 2000]

Floor: 40 passes over the (stocks, 400) array of days ahead, each a normal draw, a running sum and
a search for the first day below zero, then the 19 quantiles over the passes. Engine: from arrays
in memory to quantiles, alarm, name and order-by, with 400 days of history, 58 weekly weighings,
sisters and the search for what went wrong. Both run in turns in one process on one thread, so that
other load slows both; the ratio of the quickest rounds is judged, the ratio of medians told beside
it.
Prints a table and ends with 1 when a limit is missed.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from inventory.forecast.stocks import Stocks, Suppliers

    Arrays = list[tuple[Stocks, Suppliers]]

MOST_TIMES_FLOOR = 2.0
MOST_GROWTH = 2.3
MOST_MIB = 500.0
PASSES, DAYS = 40, 400
ONE_THREAD = dict.fromkeys(
    ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS"), "1"
)


@dataclass(frozen=True)
class Line:
    """A measured figure, the most that is allowed, and a word beside it."""

    name: str
    value: float
    most: float | None
    unit: str
    beside: str

    @property
    def missed(self) -> bool:
        """Is it above its limit?"""
        return self.most is not None and self.value > self.most


def floor(stocks: int) -> None:
    """The plain simulation, as lean as numpy allows."""
    import numpy as np

    rng = np.random.default_rng(1)
    use, rows = np.full((stocks, DAYS), 3.0), np.arange(stocks)
    level = np.linspace(30.0, 750.0, stocks)
    out = np.empty((PASSES, stocks))
    for n in range(PASSES):
        left = rng.standard_normal((stocks, DAYS))
        left *= 0.5
        left += use
        np.cumsum(left, axis=1, out=left)
        below = left > level[:, None]
        first = below.argmax(1)
        out[n] = np.where(below[rows, first], first + 1, DAYS)
    np.quantile(out, [n / 20 for n in range(1, 20)], axis=0)


def arrays(stocks: int) -> tuple[Arrays, float]:
    """Invented stocks as arrays, and how long reading them into arrays took [s]."""
    from inventory.forecast.pack import pack
    from tests.benchmarks.invented import stocks as invented

    cases = invented(stocks)
    begun = time.perf_counter()
    packed = pack(cases)
    took = time.perf_counter() - begun
    return [(one.stocks, one.suppliers) for one in packed], took


def in_turns(rounds: int, deeds: Sequence[Callable[[], object]]) -> list[list[float]]:
    """Seconds of each deed, one after another in each round, after one round to warm up."""
    took: list[list[float]] = [[] for _ in deeds]
    for n in range(rounds + 1):
        for k, deed in enumerate(deeds):
            begun = time.perf_counter()
            deed()
            if n:
                took[k].append(time.perf_counter() - begun)
    return took


def measure(stocks: int, rounds: int) -> list[Line]:
    """All lines but the peak of memory."""
    from inventory.forecast.many import reckon

    small, reading = arrays(stocks)
    large, _ = arrays(2 * stocks)
    floors, ours, double = in_turns(
        rounds, (lambda: floor(stocks), lambda: reckon(small), lambda: reckon(large))
    )
    middle = median(a / b for a, b in zip(ours, floors, strict=True))
    growth = median(a / b for a, b in zip(double, ours, strict=True))
    return [
        Line(f"floor, {stocks} stocks", min(floors), None, "s", f"median {median(floors):.3f} s"),
        Line(f"engine, {stocks} stocks", min(ours), None, "s", f"median {median(ours):.3f} s"),
        Line(
            "engine / floor", min(ours) / min(floors), MOST_TIMES_FLOOR, "x",
            f"median of rounds {middle:.2f}x",
        ),
        Line(
            "twice the stocks", min(double) / min(ours), MOST_GROWTH, "x",
            f"median of rounds {growth:.2f}x",
        ),
        Line("reading cases into arrays", reading, None, "s", "beside it, not judged"),
    ]  # fmt: skip


def peak(stocks: int) -> None:
    """Print the peak of this process after one run [MiB]."""
    from inventory.forecast.many import reckon

    ready, _ = arrays(stocks)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    reckon(ready)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{before:.0f} {after:.0f}")


def told(lines: Sequence[Line]) -> str:
    """The table as Markdown."""
    rows = ["| what | measured | most | | beside |", "|---|---|---|---|---|"]
    for line in lines:
        most = "" if line.most is None else f"{line.most:g} {line.unit}"
        word = "" if line.most is None else "**MISSED**" if line.missed else "held"
        shown = f"{line.value:.0f}" if line.unit == "MiB" else f"{line.value:.3f}"
        rows.append(f"| {line.name} | {shown} {line.unit} | {most} | {word} | {line.beside} |")
    return "\n".join(rows)


def main() -> int:
    """Measure in processes of one thread, tell, and judge."""
    asked = argparse.ArgumentParser(prog="python -m tests.benchmarks.engine")
    asked.add_argument("--rounds", type=int, default=7, help="how often each is run")
    asked.add_argument("--stocks", type=int, default=2000)
    asked.add_argument("--only", choices=("peak", "all"), help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.only == "peak":
        peak(given.stocks)
        return 0
    if given.only is None:
        again = [sys.executable, "-m", "tests.benchmarks.engine", "--only", "all"]
        again += ["--rounds", str(given.rounds), "--stocks", str(given.stocks)]
        return subprocess.run(again, env=os.environ | ONE_THREAD, check=False).returncode
    alone = [sys.executable, "-m", "tests.benchmarks.engine", "--only", "peak"]
    alone += ["--stocks", str(given.stocks)]
    text = subprocess.run(alone, check=True, capture_output=True, text=True).stdout
    before, after = (float(word) for word in text.split())
    lines = measure(given.stocks, given.rounds)
    lines.append(
        Line(
            "peak of the process", after, MOST_MIB, "MiB", f"{before:.0f} MiB with the arrays read"
        )
    )
    print(told(lines))
    print(f"\nload average {os.getloadavg()[0]:.1f}, {os.cpu_count()} cores, {given.rounds} rounds")
    return 1 if any(line.missed for line in lines) else 0


if __name__ == "__main__":
    sys.exit(main())
