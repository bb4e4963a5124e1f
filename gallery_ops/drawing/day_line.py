"""The day, hour by hour: each piece of work is an open vessel that fills as it is done."""

from collections.abc import Sequence
from dataclasses import dataclass

from gallery_ops.drawing.svg import escape, n, percent


@dataclass(frozen=True, slots=True)
class Hours:
    """The hours that the line shows, and where the clock stands (None: not on this day)."""

    first: float
    last: float
    now: float | None = None

    def at(self, hour: float) -> float:
        """Part of the line at an hour, kept on the line."""
        return min(1.0, max(0.0, (hour - self.first) / (self.last - self.first)))

    def whole(self) -> range:
        """Full hours that have a line."""
        return range(round(self.first), round(self.last))


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work: hours as decimals; done is the part that is done, 0..1."""

    start: float
    end: float
    words: str
    done: float = 0.0


def hours_axis(hours: Hours) -> str:
    """Names of the hours, and the flag of the clock."""
    out = []
    for hour in hours.whole():
        anchor = "start" if hour == hours.first else "middle"
        if hours.now is not None and abs(hour - hours.now) < 0.45 * (hours.last - hours.first) / 13:
            continue
        out.append(
            f'<text x="{percent(hours.at(hour))}" y="20" text-anchor="{anchor}">{hour}</text>'
        )
    if hours.now is not None and hours.first <= hours.now <= hours.last:
        minutes = round(hours.now * 60)
        out.append(
            f'<svg x="{percent(hours.at(hours.now))}" overflow="visible">'
            '<rect class="nowflag" x="-24" y="4" width="48" height="22"/>'
            f'<text class="nowt" x="0" y="20" text-anchor="middle">'
            f"{minutes // 60:02}:{minutes % 60:02}</text></svg>"
        )
    return f'<svg class="ax" aria-hidden="true">{"".join(out)}</svg>'


def day_line(hours: Hours, works: Sequence[Work], *, label: str) -> str:
    """One person's day."""
    out = []
    for hour in hours.whole():
        p = percent(hours.at(hour))
        out.append(f'<line class="hr" x1="{p}" x2="{p}" y1="0" y2="100%"/>')
    if hours.now is not None and hours.first <= hours.now <= hours.last:
        p = percent(hours.at(hours.now))
        out.append(f'<line class="now" x1="{p}" x2="{p}" y1="0" y2="100%"/>')
    out += [_vessel(hours, work) for work in works if work.end > work.start]
    return f'<svg role="img" aria-label="{escape(label)}">{"".join(out)}</svg>'


def _vessel(hours: Hours, work: Work) -> str:
    a, b = hours.at(work.start), hours.at(work.end)
    left, right, wide = percent(a), percent(b), percent(b - a)
    done = min(1.0, max(0.0, work.done))
    did = (
        f'<rect class="did" x="{left}" y="9" width="{percent((b - a) * done)}" height="26"/>'
        if done
        else ""
    )
    return (
        f'<rect class="bar" x="{left}" y="9" width="{wide}" height="26"/>{did}'
        f'<line class="ves" x1="{left}" x2="{left}" y1="2" y2="35"/>'
        f'<line class="ves" x1="{left}" x2="{right}" y1="35" y2="35"/>'
        f'<line class="ves" x1="{right}" x2="{right}" y1="2" y2="35"/>'
        f'<svg x="{left}" y="0" width="{wide}" height="40">'
        f'<text x="{n(9)}" y="27">{escape(work.words)}</text></svg>'
    )
