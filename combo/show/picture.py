"""Pictures as SVG, which any browser opens and prints: bars of a funnel, and the steps of a limit. No library: a few
rectangles and lines, the same to the byte each time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from html import escape

from combo.explain.best import Best
from combo.explain.funnel import Funnel
from combo.explain.limits import Limit
from combo.explain.sweep import Sweep
from combo.job import Job
from combo.problems import in_one_line
from combo.show import words
from combo.show.funnel import NAMES

_FONT = 'font-family="sans-serif" font-size="12"'
_ROW, _NAMES, _BARS, _NUMBERS, _EDGE = 18, 200, 360, 240, 16
_WIDTH, _HEIGHT, _LEFT, _BOTTOM = 820, 420, 70, 60
_INK, _LEFT_OVER, _GONE, _NOW = "#222222", "#4a6d8c", "#d9d9d9", "#b5532a"


def funnel_picture(job: Job, funnels: list[Funnel]) -> str:
    """Bars of what is left after each check, a block a kind; pale is what is gone by then."""
    found, y = [_text(_EDGE, 22, f"{job.job.name}: what is left after each check", size=15)], 46
    for funnel in funnels:
        found.append(_text(_EDGE, y, f"{funnel.kind} ({funnel.met:,})", weight="bold"))
        y += _ROW
        for stage in funnel.stages:
            if not (stage.alone or stage.first):
                continue
            width = _BARS * stage.left / funnel.met
            found += [
                _text(_EDGE, y, NAMES[stage.check]),
                _box(_EDGE + _NAMES, y - 11, _BARS, 14, _GONE),
                _box(_EDGE + _NAMES, y - 11, width, 14, _LEFT_OVER),
                _text(_EDGE + _NAMES + _BARS + 8, y, f"{stage.left:,} left; alone removes {stage.alone:,}"),
            ]
            y += _ROW
        y += _ROW // 2
    return _drawing(2 * _EDGE + _NAMES + _BARS + _NUMBERS, y, found)


def steps_picture(job: Job, now: Best | None, limit: Limit, steps: Sweep) -> str:
    """The best score over how far a limit is relaxed: each build is best from its step to the next; the line breaks off
    where other builds may lie between.
    """
    points = sorted(
        (step.moved, step.best.score or 0.0, step.is_next) for step in steps.found if step.moved == step.moved
    )
    title = f"{job.job.name}: best score over {words.limit_name(limit)}"
    found = [_text(_EDGE, 22, title, size=15)]
    if not points:
        none = "Relaxing this alone doesn't help." if steps.proven else "Cut short: no step is known."
        return _drawing(_WIDTH, 60, [*found, _text(_EDGE, 46, none)])
    low, high = points[0][0], max(points[-1][0], points[0][0] + 1e-9)
    end = high + 0.08 * (high - low)
    least, most = min(own[1] for own in points), max(own[1] for own in points)
    most = most if most > least else least + 1.0

    def x(moved: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _EDGE) * (moved - low) / (end - low)

    def y(score: float) -> float:
        return _HEIGHT - _BOTTOM - (_HEIGHT - _BOTTOM - 60) * (score - least) / (most - least)

    for at, (moved, score, _) in enumerate(points):
        until = points[at + 1][0] if at + 1 < len(points) else end
        is_known = at + 1 == len(points) or points[at + 1][2]
        found.append(_line(x(moved), y(score), x(until), y(score), _LEFT_OVER, dashed=not is_known))
        if at + 1 < len(points):
            found.append(_line(x(until), y(score), x(until), y(points[at + 1][1]), _LEFT_OVER, dashed=not is_known))
        found.append(f'<circle cx="{x(moved):.1f}" cy="{y(score):.1f}" r="3.5" fill="{_LEFT_OVER}"/>')
    found += _axes(job, limit, x, y, (low, high, least, most))
    if now is not None and low <= 0.0 <= high:
        found += [
            _line(x(0.0), 40, x(0.0), _HEIGHT - _BOTTOM, _NOW, dashed=True),
            _text(x(0.0) + 4, 50, "as asked now", color=_NOW),
        ]
    return _drawing(_WIDTH, _HEIGHT, found)


def _axes(
    job: Job,
    limit: Limit,
    x: Callable[[float], float],
    y: Callable[[float], float],
    ends: tuple[float, float, float, float],
) -> Iterable[str]:
    low, high, least, most = ends
    base = _HEIGHT - _BOTTOM
    yield _line(_LEFT, base, _WIDTH - _EDGE, base, _INK)
    yield _line(_LEFT, base, _LEFT, 40, _INK)
    for score in (least, most):
        yield _text(_LEFT - 8, y(score) + 4, f"{score:,.0f}", anchor="end")
    for moved in (low, high):
        yield _text(x(moved), base + 18, words.moved(job, limit.check.unit, moved), anchor="middle")
    yield _text(
        (_LEFT + _WIDTH) / 2,
        base + 42,
        "+ relaxed, - tightened; dashed: others may lie between",
        anchor="middle",
    )


def _drawing(width: float, height: float, found: list[str]) -> str:
    inside = "\n".join(f"  {one}" for one in found)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" {_FONT}>\n'
        f'  <rect width="100%" height="100%" fill="white"/>\n{inside}\n</svg>\n'
    )


def _text(
    x: float, y: float, text: str, *, size: int = 12, weight: str = "normal", anchor: str = "start", color: str = _INK
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" font-weight="{weight}" text-anchor="{anchor}" '
        f'fill="{color}">{escape(in_one_line(text))}</text>'
    )


def _box(x: float, y: float, width: float, height: float, color: str) -> str:
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{color}"/>'


def _line(x: float, y: float, to_x: float, to_y: float, color: str, *, dashed: bool = False) -> str:
    dashes = ' stroke-dasharray="5 4"' if dashed else ""
    return (
        f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{to_x:.1f}" y2="{to_y:.1f}" stroke="{color}" stroke-width="2"{dashes}/>'
    )
