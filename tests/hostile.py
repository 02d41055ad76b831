"""Requests that nobody means well with, as bytes for the line: pictures, lists, JSON and forms, and HTTP itself.

`kinds()` names them; each makes another request of every draw. What they try comes from the OWASP File Upload, Denial
of Service and Mass Assignment cheat sheets and from RFC 9110, 9112 and 7578 read for what they forbid (from memory).
"""

import gzip
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from random import Random
from urllib.parse import quote
from uuid import UUID

from tests.pictures import file, noise, plain

NAMES = (
    "../../etc/cron.d/x",
    "..\\..\\x.exe",
    "a\0b.csv",
    "x" * 5000,
    "‮gpj.exe",
    "/etc/passwd",
    "",
    "'; DROP TABLE x; --",
)
NUMBERS = (
    "1e400",
    "-1e400",
    "9" * 5000,
    "-0",
    "1" + "0" * 4000 + ".5",
    "NaN",
    "Infinity",
    "2e9999999",
    "1.7976931348623157e309",
)
TEXTS = (
    '"\\ud800"',
    '"\\u0000"',
    '"' + "é" * 9000 + '"',
    "[]",
    "{}",
    "null",
    "true",
    '"' + "\\\\" * 999 + '"',
)


@dataclass(frozen=True)
class Sent:
    """One request. `cut`: the line is closed after so much of the body; `length` is what is told of it."""

    method: str
    path: str
    body: bytes = b""
    heads: dict[str, str] = field(default_factory=dict)
    by: str = "token"
    length: int | str | None = -1
    cut: int | None = None

    def raw(self, credentials: dict[str, str]) -> bytes:
        heads = {"Host": "localhost", "Connection": "close", **credentials, **self.heads}
        if self.length is not None:
            heads["Content-Length"] = str(len(self.body) if self.length == -1 else self.length)
        lines = [
            f"{self.method} {self.path} HTTP/1.1",
            *(f"{name}: {value}" for name, value in heads.items()),
        ]
        return "\r\n".join([*lines, "", ""]).encode("utf-8", "surrogateescape") + self.body[: self.cut]


Draw = Callable[[Random], Sent]


def kinds() -> dict[str, Draw]:
    return {
        name.removeprefix("_"): each for name, each in globals().items() if getattr(each, "hostile", False)
    }


def drawn(count: int, random: Random) -> Iterator[tuple[str, Sent]]:
    """`count` of them, each kind in its turn."""
    known = list(kinds().items())
    for n in range(count):
        name, draw = known[n % len(known)]
        yield name, draw(random)


def hostile(draw: Draw) -> Draw:
    draw.hostile = True  # type: ignore[attr-defined]
    return draw


def photo(body: bytes, kind: str = "image/jpeg", named: str = "", **more: object) -> Sent:
    path = f"/api/photos/{named or sha256(body).hexdigest()}/"
    return Sent("PUT", path, body, {"Content-Type": kind}, **more)  # type: ignore[arg-type]


def batch(body: bytes, kind: str = "application/json", **heads: str) -> Sent:
    return Sent("POST", "/api/entries/", body, {"Content-Type": kind, **heads})


def form(path: str, parts: list[tuple[str, bytes]], boundary: str = "b0undary", end: bytes = b"--") -> Sent:
    """multipart/form-data (RFC 7578) of parts: the heads of each after `form-data`, and its bytes."""
    body = b"".join(
        f"--{boundary}\r\nContent-Disposition: form-data; {head}\r\n\r\n".encode("utf-8", "surrogateescape")
        + data
        + b"\r\n"
        for head, data in parts
    )
    kind = {"Content-Type": f"multipart/form-data; boundary={boundary}"}
    return Sent("POST", path, body + f"--{boundary}".encode() + end, kind, by="session")


def listed(data: bytes, name: str = "list.csv", kind: str = "pickers") -> Sent:
    return form("/import/", [('name="kind"', kind.encode()), (f'name="file"; filename="{name}"', data)])


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width: int, height: int, data: bytes = b"") -> bytes:
    """A PNG that says it has so many pixels, whatever its data are."""
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@hostile
def truncated(random: Random) -> Sent:
    whole = file(noise(80, 60), random.choice(("JPEG", "PNG", "WEBP")))
    return photo(whole[: random.randrange(len(whole))])


@hostile
def broken(random: Random) -> Sent:
    body = bytearray(file(noise(80, 60), random.choice(("JPEG", "PNG", "WEBP"))))
    for _ in range(random.randrange(1, 60)):
        body[random.randrange(len(body))] = random.randrange(256)
    return photo(bytes(body))


@hostile
def bomb(random: Random) -> Sent:
    side = random.choice((5_000, 20_000, 65_000, 2**31 - 1))
    rows = zlib.compress(bytes((side // 8 + 1) * min(side, 2_000)), 9) if side < 2**31 - 1 else b"x"
    return photo(png(side, side, rows), "image/png")


@hostile
def text_bomb(random: Random) -> Sent:
    words = b"Comment\0\0" + zlib.compress(bytes(random.randrange(1, 40) * 1_000_000), 9)
    whole = file(plain(), "PNG")
    return photo(whole[:33] + chunk(b"zTXt", words) * random.randrange(1, 40) + whole[33:], "image/png")


@hostile
def polyglot(random: Random) -> Sent:
    tail = random.choice(
        (b"<script>alert(1)</script>", b"PK\x03\x04" + bytes(200), b"%PDF-1.7", b"<?php ?>", b"MZ" * 99)
    )
    whole = file(noise(40, 30))
    return photo(random.choice((whole + tail, tail + whole, b"GIF89a" + tail, b"<svg onload='x()'/>" + tail)))


@hostile
def other_type(random: Random) -> Sent:
    kind = random.choice(
        ("text/html", "image/svg+xml", "", "image/jpeg; q=" + "9" * 900, "multipart/form-data", "é/ü", "/")
    )
    return photo(random.choice((file(plain()), b"", b"\0" * 500)), kind)


@hostile
def other_name(random: Random) -> Sent:
    name = random.choice((*NAMES, "0" * 64, "%00" * 64, "..%2f..%2fx", "%2e%2e", "%ff%fe" * 32))
    return photo(file(plain()), named=quote(name, safe="%") or "%20")


@hostile
def file_name(random: Random) -> Sent:
    return listed(b"number,name\r\n" + str(random.random()).encode() + b",X\r\n", random.choice(NAMES))


@hostile
def long_head(random: Random) -> Sent:
    parts = [
        ('name="kind"', b"pickers"),
        (f'name="file"; filename="{"n" * random.choice((9_000, 1_000_000))}"', b"number,name"),
    ]
    return form("/import/", parts)


@hostile
def long_http_head(random: Random) -> Sent:
    return Sent(
        "POST",
        "/api/entries/",
        b"{}",
        {random.choice(("X-Long", "Cookie", "Accept")): "h" * random.choice((9_000, 1_000_000))},
    )


@hostile
def without_end(random: Random) -> Sent:
    return form(
        "/import/", [('name="kind"', b"pickers"), ('name="file"; filename="x.csv"', b"a" * 9_000)], end=b""
    )


@hostile
def odd_boundary(random: Random) -> Sent:
    return form(
        "/import/",
        [('name="kind"', b"pickers")],
        random.choice(("", "b" * 9_000, "é", "a b", '"', "\0x", "--")),
    )


@hostile
def many_parts(random: Random) -> Sent:
    named = random.choice(('name="f{}"', 'name="file"; filename="{}.csv"'))
    return form("/import/", [(named.format(n), b"x") for n in range(random.choice((5, 1_500, 20_000)))])


@hostile
def deep(random: Random) -> Sent:
    depth = random.choice((50, 5_000, 1_000_000))
    left, right = random.choice((("[", "]"), ('{"a":', "}")))
    return batch((left * depth + random.choice(("", "1" + right * depth))).encode())


@hostile
def number(random: Random) -> Sent:
    names = ("device_seq", "detail", "id", "happened_at", "v")
    value = random.choice(NUMBERS)
    inner = "{" + ",".join(f'"{name}": {value}' for name in random.sample(names, 3)) + ', "verb": "found"}'
    return batch(f'{{"device": {value}, "gate": "note", "sent_at": {value}, "entries": [{inner}]}}'.encode())


@hostile
def odd_text(random: Random) -> Sent:
    odd = [random.choice(TEXTS) for _ in range(4)]
    fields = zip(("verb", "item", "note", "detail"), odd, strict=True)
    then = "2026-01-01T00:00:00Z"
    known = json.dumps(
        {"id": f"019ac000-0000-7000-8000-{random.randrange(16**12):012x}", "happened_at": then}
    )
    entry = known[:-1] + "".join(f', "{name}": {text}' for name, text in fields) + ', "device_seq": 1}'
    head = json.dumps({"device": str(UUID(int=7)), "store": "A", "gate": "note", "sent_at": then})
    return batch(f'{head[:-1]}, "entries": [{entry}]}}'.encode())


@hostile
def no_utf8(random: Random) -> Sent:
    return batch(
        b'{"entries": "' + random.randbytes(random.randrange(1, 2_000)) + b'"}',
        random.choice(("application/json", "application/json; charset=utf-7")),
    )


@hostile
def too_many(random: Random) -> Sent:
    return batch(json.dumps({"entries": [{}] * random.choice((501, 50_000))}).encode())


@hostile
def zipped(random: Random) -> Sent:
    body = gzip.compress(bytes(random.choice((1_000, 30_000_000))), 9)
    return batch(body, **{"Content-Encoding": random.choice(("gzip", "deflate", "br", "gzip, gzip"))})


@hostile
def formula(random: Random) -> Sent:
    cell = random.choice(
        ('=HYPERLINK("http://x")', "@SUM(1)", "+1", "-1", "=cmd|' /C calc'!A0", "\t=1", "\0", "\ufeff")
    )
    return listed(f'number,name\r\n{random.random()},"{cell.replace(chr(34), chr(34) * 2)}"\r\n'.encode())


@hostile
def wide(random: Random) -> Sent:
    return listed(
        random.choice((b",", b"number,", b'"",')) * random.choice((1_000, 1_000_000))
        + b"\r\n"
        + b"," * 500_000
    )


@hostile
def no_list(random: Random) -> Sent:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", bytes(random.choice((100, 20_000_000))))
    text = random.choice(
        (
            b'number,"name\r\n' + b"x" * 900_000,
            "number,name".encode("utf-16"),
            random.randbytes(4_000),
            b"\xd0\xcf\x11\xe0",
        )
    )
    return listed(
        random.choice((out.getvalue(), text)), kind=random.choice(("pickers", "gear", "../x", "\0"))
    )


@hostile
def chunked(random: Random) -> Sent:
    body = random.choice(
        (
            b"5\r\n{}   \r\n0\r\n\r\n",
            b"ffffffff\r\nx",
            b"-1\r\n",
            b"5;" + b"e" * 9_000 + b"\r\n",
            b"0\r\n" + b"X: y\r\n" * 900,
        )
    )
    length = random.choice((None, 5))
    return Sent(
        "POST",
        "/api/entries/",
        body,
        {"Transfer-Encoding": random.choice(("chunked", "gzip, chunked", "identity"))},
        length=length,
    )


@hostile
def other_length(random: Random) -> Sent:
    length = random.choice((10**6, 10**9, 10**40, "-5", "1_0", "+3", "0x10", "3, 3", ""))
    return Sent(
        "POST",
        random.choice(("/api/entries/", "/sign-in/")),
        b"{}",
        {"Content-Type": "application/json"},
        length=length,
    )


@hostile
def breaks_off(random: Random) -> Sent:
    whole = random.choice(
        (
            photo(file(noise(80, 60))),
            listed(b"number,name\r\n" + b"1,x\r\n" * 900),
            batch(b"[" + b"1," * 9_000 + b"1]"),
        )
    )
    return Sent(
        whole.method, whole.path, whole.body, whole.heads, whole.by, cut=random.randrange(len(whole.body))
    )


@hostile
def odd_fields(random: Random) -> Sent:
    pairs = random.choice(
        (
            b"%",
            b"username=%00&password=%ff",
            b"&" * 50_000,
            b"a=1&" * 5_000,
            b"username=" + b"u" * 2_600_000,
            b"next=//evil.example",
        )
    )
    path = random.choice(("/sign-in/", "/sign-in/code/", "/sign-in/pin/", "/me/"))
    return Sent("POST", path, pairs, {"Content-Type": "application/x-www-form-urlencoded"}, by="session")


@hostile
def fault_photo(random: Random) -> Sent:
    data = random.choice((b"", b"GIF89a", png(60_000, 60_000), file(noise(80, 60))[:900], bytes(12_000_001)))
    parts = [('name="fault"', b"bag_hole"), (f'name="photo"; filename="{random.choice(NAMES)}"', data)]
    return form("/gear/{tag}/report_fault/", parts)
