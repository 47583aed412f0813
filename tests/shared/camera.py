"""Pictures as a camera writes them, made in the test. Standard library only.

Exif: CIPA DC-008 (Exif 2.3), tags 0x010F Make, 0x0112 Orientation, 0x8825 GPS directory, in it 0x0001 to 0x0004 latitude and
longitude; TIFF 6.0 for directories and types; JPEG's markers as ITU-T T.81, annex B. Numbers from memory."""

import struct
import zlib

MAKE = b"Invented Optics\0"
LATITUDE = struct.pack("<6I", 12, 1, 34, 1, 567891, 10000)
SECRETS = (b"Exif", b"Invented Optics", LATITUDE, b"taken at home")


def png(width, height, colour_at):
    """`colour_at(x, y)`: red, green, blue from 0 to 255."""
    rows = b"".join(b"\0" + bytes(c for x in range(width) for c in colour_at(x, y)) for y in range(height))

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)) +
            chunk(b"IDAT", zlib.compress(rows, 6)) + chunk(b"IEND", b""))


def scene(width=800, height=600):
    """A grey workbench, a red bolt's head top left, a blue box bottom right: which way is up can be seen."""
    def colour(x, y):
        if (x - width / 4) ** 2 + (y - height / 4) ** 2 < (height / 6) ** 2:
            return 200, 40, 30
        if x > width * 0.6 and y > height * 0.6:
            return 40, 60, 190
        shade = 120 + (x * 60) // width
        return shade, shade, shade - 20
    return png(width, height, colour)


def with_exif(jpeg, orientation=1):
    """That JPEG file as a telephone writes it: who, how held, where; and a comment."""
    head = b"II" + struct.pack("<HI", 42, 8)
    make_at, gps_at = 8 + 2 + 3 * 12 + 4, 8 + 2 + 3 * 12 + 4 + len(MAKE)
    first = struct.pack("<H", 3)
    first += struct.pack("<HHII", 0x010F, 2, len(MAKE), make_at)
    first += struct.pack("<HHIHH", 0x0112, 3, 1, orientation, 0)
    first += struct.pack("<HHII", 0x8825, 4, 1, gps_at) + struct.pack("<I", 0)
    numbers_at = gps_at + 2 + 4 * 12 + 4
    gps = struct.pack("<H", 4)
    gps += struct.pack("<HHI4s", 1, 2, 2, b"N\0\0\0") + struct.pack("<HHII", 2, 5, 3, numbers_at)
    gps += struct.pack("<HHI4s", 3, 2, 2, b"E\0\0\0") + struct.pack("<HHII", 4, 5, 3, numbers_at + 24) + struct.pack("<I", 0)
    payload = b"Exif\0\0" + head + first + MAKE + gps + LATITUDE + struct.pack("<6I", 98, 1, 7, 1, 654321, 10000)

    def segment(marker, body):
        return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body

    return jpeg[:2] + segment(0xE1, payload) + segment(0xFE, b"taken at home") + jpeg[2:]
