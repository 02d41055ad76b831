"""The icon of the orchard page, drawn here: a cut-corner label with an orange on it, on leaf green.

One list of shapes on a square of 64 makes the SVG and, by Pillow, the PNGs that phones ask for.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Literal

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from PIL import Image, ImageDraw

SIDE = 64
FINER = 4  # drawn so many times larger, then made small: Pillow draws no soft edges
LEAF, PAPER, RULING, ORANGE, INK = "#1a542e", "#fbf7ec", "#cbd5c5", "#d9731a", "#1f2a24"
# What is left of a maskable icon whatever shape the phone cuts: a circle of 80 % (W3C Web Application Manifest).
SAFE = 0.76

Point = tuple[float, float]


@dataclass(frozen=True)
class Polygon:
    colour: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Circle:
    colour: str
    centre: Point
    radius: float


Shape = Polygon | Circle


def leaf(base: Point, tip: Point, belly: float, steps: int = 12) -> tuple[Point, ...]:
    """A leaf from `base` to `tip`, `belly` wide to each side of its rib."""
    (x0, y0), (x1, y1) = base, tip
    length = math.hypot(x1 - x0, y1 - y0)
    across = ((y0 - y1) / length, (x1 - x0) / length)

    def edge(side: int, step: int) -> Point:
        along, out = step / steps, side * belly * math.sin(math.pi * step / steps)
        return (x0 + along * (x1 - x0) + out * across[0], y0 + along * (y1 - y0) + out * across[1])

    return tuple(edge(1, n) for n in range(steps + 1)) + tuple(edge(-1, n) for n in range(steps, -1, -1))


def bar(left: float, right: float, y: float) -> tuple[Point, ...]:
    return ((left, y - 0.75), (right, y - 0.75), (right, y + 0.75), (left, y + 0.75))


SHAPES: tuple[Shape, ...] = (
    Polygon(PAPER, ((14, 10), (43, 10), (51, 18), (51, 54), (14, 54))),
    *(Polygon(RULING, bar(18, 47, y)) for y in (20, 29, 38, 47)),
    Circle(ORANGE, (31, 37), 11.5),
    Polygon(LEAF, leaf((32, 26), (47, 19), 4)),
    Polygon(INK, ((30.2, 29), (31.8, 29), (32.6, 23.5), (31, 23.5))),
    Circle(INK, (19, 15), 2),
)

# By name: the side in pixels, the share of it that the drawing takes, and what the manifest calls its purpose.
Purpose = Literal["any", "maskable", ""]
PNGS: dict[str, tuple[int, float, Purpose]] = {
    "192": (192, 1.12, "any"),
    "512": (512, 1.12, "any"),
    "maskable-512": (512, SAFE, "maskable"),
    "touch-180": (180, 1, ""),
}


def svg() -> str:
    parts = [f'<path fill="{LEAF}" d="M0 0h{SIDE}v{SIDE}H0z"/>']
    for shape in SHAPES:
        if isinstance(shape, Circle):
            (x, y), radius = shape.centre, shape.radius
            parts.append(f'<circle fill="{shape.colour}" cx="{x:g}" cy="{y:g}" r="{radius:g}"/>')
        else:
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in shape.points)
            parts.append(f'<polygon fill="{shape.colour}" points="{points}"/>')
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE} {SIDE}">{"".join(parts)}</svg>\n'


@lru_cache(maxsize=len(PNGS))
def png(side: int, share: float) -> bytes:
    """Square, without transparency: a phone would put black behind it."""
    large = side * FINER
    image = Image.new("RGB", (large, large), LEAF)
    draw = ImageDraw.Draw(image)
    scale, edge = large * share / SIDE, large * (1 - share) / 2

    def at(point: Point) -> Point:
        return (edge + point[0] * scale, edge + point[1] * scale)

    for shape in SHAPES:
        if isinstance(shape, Circle):
            (x, y), radius = at(shape.centre), shape.radius * scale
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=shape.colour)
        else:
            draw.polygon([at(point) for point in shape.points], fill=shape.colour)
    out = BytesIO()
    image.resize((side, side), Image.Resampling.LANCZOS).save(out, "PNG", optimize=True)
    return out.getvalue()


def drawn_as() -> str:
    """Changes when the drawing does."""
    return f"{svg()} {PNGS}"


def addresses() -> tuple[str, ...]:
    """What a phone keeps of it; the large ones are asked for at installing only."""
    return (reverse("orchard_icon", args=["192"]),)


def icon(request: HttpRequest, name: str) -> HttpResponse:
    if name not in PNGS:
        raise Http404
    side, share, _ = PNGS[name]
    return kept_a_day(HttpResponse(png(side, share), content_type="image/png"))


def icon_svg(request: HttpRequest) -> HttpResponse:
    return kept_a_day(HttpResponse(svg(), content_type="image/svg+xml"))


def kept_a_day(answer: HttpResponse) -> HttpResponse:
    answer["Cache-Control"] = "public, max-age=86400"
    return answer
