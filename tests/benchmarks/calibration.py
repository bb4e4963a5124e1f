"""How honest and how sharp is the forecast on invented cases whose end is known?

    python -m tests.benchmarks.calibration "name=CASES_DIR" [...] [--svg tests/benchmarks/pit.svg]

A folder holds ``seen/cases.jsonl`` (what the program sees, as ``manage.py forecast_cases`` reads
it) and ``truth/truth.csv`` (case_id, regime, runout_days, fault). Prints a table for each and draws
where the truths fell: a forecast that knows what it does not know puts one truth in ten into each
tenth of its range. Nothing is drawn at random: the same folders give the same bytes.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist

import numpy as np

from inventory.forecast.engine import project
from inventory.forecast.prior import Floats
from inventory.forecast.read import case_from
from inventory.forecast.score import SLOTS, crps, pit, slot_of
from inventory.forecast.types import HORIZON_DAYS, Projection
from tests.benchmarks.simple import SIMPLE

LUCK_SD = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True)
class Scored:
    """One set of cases after its end is known. Arrays are by case."""

    name: str
    regime: list[str]
    fault: list[str]
    found: list[Projection]
    truth: Floats
    ours: Floats
    simple: dict[str, Floats]
    pit: Floats

    @property
    def inside(self) -> Floats:
        """1 where the truth lies between p10 and p90."""
        pairs = zip(self.found, self.truth, strict=True)
        return np.array([float(f.quantiles[1] <= t <= f.quantiles[17]) for f, t in pairs])

    @property
    def tenths(self) -> Floats:
        """Share of the truths in each tenth of the forecast range."""
        slots = [slot_of(value) for value in self.pit]
        return np.bincount(slots, minlength=SLOTS) / len(slots)


def scored(name: str, folder: Path) -> Scored:
    """Project the cases of a folder and hold them against its truth."""
    with (folder / "seen" / "cases.jsonl").open(encoding="utf-8") as lines:
        cases = {row["case_id"]: case_from(row) for row in map(json.loads, lines)}
    with (folder / "truth" / "truth.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    every = [cases[row["case_id"]] for row in rows]
    found = project(every)
    truth = np.array([min(float(row["runout_days"]), HORIZON_DAYS) for row in rows])
    pairs = list(zip(found, truth, strict=True))
    return Scored(
        name=name,
        regime=[row["regime"] for row in rows],
        fault=[row["fault"] for row in rows],
        found=found,
        truth=truth,
        ours=np.array([crps(f.quantiles, t) for f, t in pairs]),
        simple={
            how: np.array([crps(deed(c), t) for c, t in zip(every, truth, strict=True)])
            for how, deed in SIMPLE.items()
        },
        pit=np.array([pit(f.quantiles, t) for f, t in pairs]),
    )


def told(one: Scored) -> str:
    """The tables of a set as Markdown: each regime, and what the alarms found."""
    regimes = np.array(one.regime)
    rows = [
        f"### {one.name}, {len(one.truth)} stocks",
        "",
        "| regime | n | inside p10..p90 | CRPS, days | of plan-only | of average | of line |",
        "|---|---|---|---|---|---|---|",
    ]
    ratios: dict[str, list[float]] = {how: [] for how in one.simple}
    for regime in sorted(set(one.regime)):
        own = regimes == regime
        beside = {how: one.ours[own].mean() / c[own].mean() for how, c in one.simple.items()}
        for how, ratio in beside.items():
            ratios[how].append(float(np.log(ratio)))
        shown = " | ".join(f"{ratio:.2f}" for ratio in beside.values())
        rows.append(
            f"| {regime.replace('_', ' ')} | {own.sum()} | {one.inside[own].mean():.2f} "
            f"| {one.ours[own].mean():.2f} | {shown} |"
        )
    means = " | ".join(f"**{np.exp(np.mean(logs)):.3f}**" for logs in ratios.values())
    rows.append(
        f"| **all** (ratios: geometric mean) | {len(one.truth)} | **{one.inside.mean():.3f}** "
        f"| {one.ours.mean():.2f} | {means} |"
    )
    below, above = (one.pit < 0.1).mean(), (one.pit > 0.9).mean()
    worst = float(np.abs(one.tenths - 1 / SLOTS).max())
    rows += ["", f"Below p10 {below:.3f}, above p90 {above:.3f}; the tenth that is farthest off is "
             f"off by {worst:.3f}. {_alarms(one)}", ""]  # fmt: skip
    return "\n".join(rows)


def _alarms(one: Scored) -> str:
    losses = np.array([f.alarm != "none" for f in one.found])
    fault, told_as = np.array(one.fault), np.array([f.alarm for f in one.found])
    well = fault == "none"
    parts = [f"Open alarms on {losses[well].sum()} of {well.sum()} healthy stocks"]
    for name in ("sudden_loss", "steady_loss"):
        own = fault == name
        if own.any():
            named = (told_as[own] == name).sum()
            parts.append(f"{name.replace('_', ' ')} found in {losses[own].sum()} of {own.sum()}, "
                         f"rightly named in {named}")  # fmt: skip
    return "; ".join(parts) + "."


# --- picture --------------------------------------------------------------------------------------
PANEL_W, PANEL_H, LEFT, TOP, GAP = 320, 180, 60, 108, 64
PAPER, INK, FAINT, BAR, BAND = "#fbfaf6", "#22302f", "#5d6b69", "#2f7f79", "#d9e4df"
MOST = 0.20


def picture(sets: list[Scored]) -> str:
    """The sets side by side as SVG; a light sheet of its own, readable on any background."""
    width = LEFT + len(sets) * PANEL_W + (len(sets) - 1) * GAP + 28
    height = TOP + PANEL_H + 68
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img" aria-labelledby="t d" font-family="system-ui, sans-serif">',
        '<title id="t">Where the truth fell within the forecast</title>',
        f'<desc id="d">{_described(sets)}</desc>',
        f'<rect width="{width}" height="{height}" rx="10" fill="{PAPER}"/>',
        f'<text x="{LEFT - 36}" y="36" font-size="17" font-weight="600" fill="{INK}">'
        "Where the truth fell within the forecast</text>",
    ]
    for n, one in enumerate(sets):
        parts += _panel(one, LEFT + n * (PANEL_W + GAP))
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


def _described(sets: list[Scored]) -> str:
    def shares(one: Scored) -> str:
        return ", ".join(f"{100 * share:.1f}" for share in one.tenths)

    return "; ".join(f"{one.name}: percent of truths in each tenth {shares(one)}" for one in sets)


def _panel(one: Scored, x0: int) -> list[str]:
    base = TOP + PANEL_H
    luck = LUCK_SD * (0.1 * 0.9 / len(one.truth)) ** 0.5

    def y(share: float) -> float:
        return base - PANEL_H * min(share, MOST) / MOST

    step = PANEL_W / SLOTS
    parts = [
        f'<text x="{x0}" y="{TOP - 36}" font-size="14" font-weight="600" fill="{INK}">'
        f"{one.name}</text>",
        f'<text x="{x0}" y="{TOP - 17}" font-size="13" fill="{FAINT}">{len(one.truth)} stocks, '
        f"{100 * one.inside.mean():.0f} % inside p10 to p90</text>",
        f'<rect x="{x0}" y="{y(0.1 + luck):.1f}" width="{PANEL_W}" '
        f'height="{y(0.1 - luck) - y(0.1 + luck):.1f}" fill="{BAND}"/>',
    ]
    for n, share in enumerate(one.tenths):
        parts.append(
            f'<rect x="{x0 + n * step + 2:.1f}" y="{y(share):.1f}" width="{step - 4:.1f}" '
            f'height="{base - y(share):.1f}" fill="{BAR}" fill-opacity="0.85"/>'
        )
    parts.append(
        f'<line x1="{x0}" x2="{x0 + PANEL_W}" y1="{y(0.1):.1f}" y2="{y(0.1):.1f}" '
        f'stroke="{INK}" stroke-width="1" stroke-dasharray="4 3"/>'
    )
    for share in (0.0, 0.1, 0.2):
        parts.append(
            f'<text x="{x0 - 6}" y="{y(share) + 4:.1f}" font-size="12" text-anchor="end" '
            f'fill="{FAINT}">{100 * share:.0f} %</text>'
        )
    for n, word in ((0, "sooner"), (SLOTS, "later")):
        anchor = "start" if n == 0 else "end"
        parts.append(
            f'<text x="{x0 + n * step:.1f}" y="{base + 17}" font-size="12" text-anchor="{anchor}" '
            f'fill="{FAINT}">{word} than said</text>'
        )
    parts += [
        f'<line x1="{x0}" x2="{x0 + PANEL_W}" y1="{base}" y2="{base}" stroke="{FAINT}"/>',
        f'<text x="{x0}" y="{base + 40}" font-size="12" fill="{FAINT}">'
        "bars: tenths of the forecast; band: what luck allows</text>",
    ]
    return parts


def main() -> int:
    """Score the folders given, print their tables, draw the picture."""
    asked = argparse.ArgumentParser(prog="python -m tests.benchmarks.calibration")
    asked.add_argument("sets", nargs="+", help="name=CASES_DIR")
    asked.add_argument("--svg", type=Path)
    given = asked.parse_args()
    sets = []
    for text in given.sets:
        name, found, folder = text.partition("=")
        if not found or not (Path(folder) / "truth" / "truth.csv").is_file():
            asked.error(f"{text}: give name=CASES_DIR with seen/cases.jsonl and truth/truth.csv")
        sets.append(scored(name, Path(folder)))
        print(told(sets[-1]))
    if given.svg:
        given.svg.write_text(picture(sets), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
