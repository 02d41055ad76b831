"""Pictures made for a test, sent as photos and looked at again."""

import hashlib
import random
import re
from io import BytesIO
from typing import Any

from PIL import Image

RED, BLUE, GREEN, WHITE = (255, 0, 0), (0, 0, 255), (0, 255, 0), (255, 255, 255)


def file(picture: Image.Image, form: str = "JPEG", **options: Any) -> bytes:
    out = BytesIO()
    picture.save(out, form, **options)
    return out.getvalue()


def plain(width: int = 64, height: int = 48, colour: Any = RED, mode: str = "RGB") -> Image.Image:
    return Image.new(mode, (width, height), colour)


def noise(width: int, height: int) -> Image.Image:
    return Image.frombytes("RGB", (width, height), random.Random(17).randbytes(width * height * 3))


def url(data: bytes) -> str:
    return f"/api/photos/{hashlib.sha256(data).hexdigest()}/"


def put(client: Any, data: bytes, at: str = "", content_type: str = "image/jpeg") -> Any:
    return client.put(at or url(data), data, content_type=content_type)


def kept(client: Any, data: bytes) -> Image.Image:
    """What comes back of a photo that was sent."""
    assert put(client, data).status_code == 201
    answer = client.get(url(data))
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    picture = Image.open(BytesIO(answer.content))
    picture.load()
    assert picture.format == "JPEG"
    assert len(answer.content) <= 300_000
    return picture


def close(picture: Image.Image, x: int, y: int, colour: tuple[int, ...]) -> bool:
    found: Any = picture.getpixel((x, y))
    return all(abs(is_now - was) < 40 for is_now, was in zip(found, colour, strict=True))


def drawn_svg(svg: bytes, module: int = 6) -> Image.Image:
    """An SVG of one path of `MxyHxVyHxz` rectangles, as qrcode writes it, in black on white; units are its viewBox."""
    text = svg.decode()
    side = int(re.search(r'viewBox="0 0 (\d+)', text)[1])  # type: ignore[index]
    picture = Image.new("L", (side * module, side * module), 255)
    for x, y, right, low in re.findall(r"M([\d.]+),([\d.]+)H([\d.]+)V([\d.]+)H", text):
        box = [round(float(each) * module) for each in (x, y, right, low)]
        picture.paste(0, (box[0], box[1], box[2], box[3]))
    return picture
