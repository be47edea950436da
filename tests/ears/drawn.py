"""The reliability diagram: the probability that the ear gave against how often it was right, on a scale of odds."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

SIZE, EDGE = 360, 48
LEAST, MOST = 0.1, 0.9995


def place(probability: float) -> float:
    """Where a probability lies between 0 and 1 on a scale of odds, so that what is nearly sure can be told apart."""

    def odds(one: float) -> float:
        one = min(max(one, LEAST), MOST)
        return log(one / (1 - one))

    return (odds(probability) - odds(LEAST)) / (odds(MOST) - odds(LEAST))


def draw(points: Sequence[tuple[str, int, float, float]]) -> str:
    """An SVG of (name, clips, mean given, share right), in black and white."""

    def x(probability: float) -> float:
        return EDGE + place(probability) * SIZE

    def y(probability: float) -> float:
        return EDGE / 2 + (1 - place(probability)) * SIZE

    width, height = SIZE + 1.5 * EDGE, SIZE + 1.5 * EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">',
        '<g font-size="11" font-family="sans-serif">',
        "<title>How often the first hearing is right, by the probability given</title>",
        f'<rect x="{EDGE}" y="{EDGE / 2}" width="{SIZE}" height="{SIZE}" fill="none" stroke="black"/>',
        f'<path d="M{x(LEAST)} {y(LEAST)}L{x(MOST)} {y(MOST)}" stroke="grey" stroke-dasharray="4"/>',
    ]
    for tick in (0.1, 0.3, 0.5, 0.7, 0.9, 0.97, 0.99, 0.999):
        parts.append(f'<text x="{x(tick)}" y="{SIZE + EDGE / 2 + 14}" text-anchor="middle">{tick:g}</text>')
        parts.append(f'<text x="{EDGE - 4}" y="{y(tick) + 4}" text-anchor="end">{tick:g}</text>')
    path = "L".join(f"{x(given):.1f} {y(right):.1f}" for _, _, given, right in points)
    parts.append(f'<path d="M{path}" fill="none" stroke="black"/>')
    for name, count, given, right in points:
        parts.append(
            f'<circle cx="{x(given):.1f}" cy="{y(right):.1f}" r="4"><title>{name}: {count} clips</title></circle>'
        )
        parts.append(f'<text x="{x(given) + 6:.1f}" y="{y(right) + 12:.1f}">{count}</text>')
    parts.append(f'<text x="{EDGE + SIZE / 2}" y="{height - 4}" text-anchor="middle">probability given</text>')
    parts.append(
        f'<text x="12" y="{EDGE / 2 + SIZE / 2}" transform="rotate(-90 12 {EDGE / 2 + SIZE / 2})">right</text>'
    )
    return "\n".join([*parts, "</g></svg>"]) + "\n"
