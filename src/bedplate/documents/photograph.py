"""A photograph of the record as a drawing that paper can carry.

It stands in the drawing as it was taken, byte for byte; only its size, and how the camera was held,
are read from it.
"""

from __future__ import annotations

import struct
from base64 import b64encode
from dataclasses import dataclass

_PNG = b"\x89PNG\r\n\x1a\n"
_TURNS = {1: 0, 3: 180, 6: 90, 8: 270}
"""Degrees to turn a picture clockwise, by the orientation of Exif 2.32, 4.6.5 (table 6)."""
_ORIENTATION = 0x0112


@dataclass(frozen=True, slots=True)
class Extent:
    """The size of a picture in its own dots, and the degrees to turn it clockwise."""

    width: int
    height: int
    turn: int = 0


def photograph(data: bytes, media_type: str) -> str:
    """Return a PNG or JPEG as SVG, the right way up; '' if its size cannot be read."""
    size = extent(data)
    if size is None:
        return ""
    wide, tall = size.width, size.height
    across, up = (tall, wide) if size.turn in (90, 270) else (wide, tall)
    place = f"translate({across / 2:g} {up / 2:g}) rotate({size.turn})"
    place += f" translate({-wide / 2:g} {-tall / 2:g})"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="0 0 {across} {up}" width="{across}" height="{up}"><g transform="{place}">'
        f'<image width="{wide}" height="{tall}" '
        f'xlink:href="data:{media_type};base64,{b64encode(data).decode()}"/></g></svg>'
    )


def extent(data: bytes) -> Extent | None:
    """Return the extent of a PNG or JPEG; None if it is neither, or cut short."""
    try:
        if data.startswith(_PNG):
            width, height = struct.unpack(">II", data[16:24])
            return Extent(width, height) if width and height else None
        if data.startswith(b"\xff\xd8"):
            return _jpeg(data)
    except (struct.error, IndexError):
        return None
    return None


def _jpeg(data: bytes) -> Extent | None:
    """Walk the segments of a JPEG (ITU-T T.81, B.1) to the frame header."""
    at, turn = 2, 0
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], struct.unpack(">H", data[at + 2 : at + 4])[0]
        body = data[at + 4 : at + 2 + length]
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            turn = _turn(body[6:])
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack(">HH", body[1:5])
            return Extent(width, height, turn) if width and height else None
        at += 2 + length
    return None


def _turn(exif: bytes) -> int:
    order = "<" if exif.startswith(b"II") else ">"
    (first,) = struct.unpack(f"{order}I", exif[4:8])
    (count,) = struct.unpack(f"{order}H", exif[first : first + 2])
    for entry in range(count):
        at = first + 2 + 12 * entry
        tag, _, _, value = struct.unpack(f"{order}HHIH", exif[at : at + 10])
        if tag == _ORIENTATION:
            return _TURNS.get(value, 0)
    return 0
