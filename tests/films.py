"""What a phone's camera sees of a printed label: our own PDF, drawn, tilted, badly lit, blurred and noisy; as MJPEG."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy
from PIL import Image, ImageFilter

from equipment.documents.labels import LabelRow, label_roll
from equipment.documents.layouts import ROLLS
from tests.documents.reading import drawn

SIZE = (1280, 720)
LEAVES = (84, 96, 70)
# A camera that films one of ours, for Chromium's command line.
FLAGS = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")


@dataclass(frozen=True)
class View:
    """How the label is held: turned by degrees, leaning back (by what share its far edge is shorter), and where."""

    turned: float = 17
    leaning: float = 0.18
    width: int = 520
    centre: tuple[int, int] = (640, 360)
    noise: float = 22
    blur: float = 1.1


VIEWS = (View(), View(turned=-31, centre=(660, 340)), View(turned=152, leaning=0.12, width=560))


def label(code: str, lines: Sequence[str] = ("Clippers",)) -> Image.Image:
    """One printed label, in grey."""
    roll = next(iter(ROLLS.values()))
    return drawn(label_roll([LabelRow(code, tuple(lines))], roll, "Quillberg"), 300)[0]


def frame(picture: Image.Image, view: View, seed: int = 5) -> Image.Image:
    held = picture.convert("RGBA")
    held = held.resize((view.width, view.width * held.height // held.width), Image.Resampling.LANCZOS)
    held = leaned(held, view.leaning).rotate(view.turned, Image.Resampling.BICUBIC, expand=True)
    scene = Image.new("RGB", SIZE, LEAVES)
    scene.paste(held, (view.centre[0] - held.width // 2, view.centre[1] - held.height // 2), held)
    pixels = numpy.asarray(scene.filter(ImageFilter.GaussianBlur(view.blur)), dtype=float)
    # The sun through the leaves: half as bright on one side.
    pixels = pixels * numpy.linspace(1, 0.5, SIZE[0])[None, :, None]
    grain = numpy.random.default_rng(seed).normal(0, view.noise, pixels.shape)
    return Image.fromarray(numpy.clip(pixels + grain, 0, 255).astype(numpy.uint8))


def leaned(picture: Image.Image, share: float) -> Image.Image:
    """As seen from below: the upper edge shorter than the lower one."""
    w, h = picture.size
    inset = w * share / 2
    seen = ((inset, 0), (w - inset, 0), (w, h), (0, h))
    flat = ((0, 0), (w, 0), (w, h), (0, h))
    rows, values = [], []
    for (x, y), (u, v) in zip(seen, flat, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    along = numpy.linalg.solve(numpy.array(rows, dtype=float), numpy.array(values, dtype=float))
    return picture.transform(
        picture.size,
        Image.Transform.PERSPECTIVE,
        tuple(along),
        Image.Resampling.BICUBIC,
        fillcolor=(0, 0, 0, 0),
    )


def film(path: Path, code: str, views: Sequence[View] = VIEWS) -> Path:
    """A file that Chromium plays round and round as its camera."""
    picture = label(code)
    frames = [frame(picture, view, seed) for seed, view in enumerate(views)]
    path.write_bytes(b"".join(map(jpeg, frames)) * 3)
    return path


def jpeg(picture: Image.Image) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=70)
    return out.getvalue()
