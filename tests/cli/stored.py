# SPDX-License-Identifier: GPL-3.0-or-later
"""Photos stored in ways that take long to decode, for a file of their size. Standard library only."""
import lzma
import random
import struct

# TIFF 6.0, section 2; Adobe's technical note of 2002 for deflate; libtiff's own number for LZMA.
SHORT, LONG = 3, 4
DEFLATE, LZMA = 8, 34925


def tiff(width, height, samples, pieces, tile=None, rows=1, apart=False, compression=DEFLATE):
    """A TIFF of 8 bits a sample. `pieces`: what each strip (of `rows`) or tile is stored as, in the order
    of the file's list; equal ones are stored once."""
    out = bytearray(b"II*\0\0\0\0\0")
    places = {}
    for piece in pieces:
        if piece not in places:
            places[piece] = len(out)
            out += piece + b"\0" * (len(piece) % 2)
    offsets, counts = [places[p] for p in pieces], [len(p) for p in pieces]
    tags = {256: (LONG, [width]), 257: (LONG, [height]), 258: (SHORT, [8] * samples), 259: (SHORT, [compression]),
            262: (SHORT, [2]), 277: (SHORT, [samples]), 284: (SHORT, [2 if apart else 1])}
    if samples > 3:
        tags[338] = (SHORT, [0] * (samples - 3))
    if tile:
        tags.update({322: (LONG, [tile[0]]), 323: (LONG, [tile[1]]), 324: (LONG, offsets), 325: (LONG, counts)})
    else:
        tags.update({273: (LONG, offsets), 278: (LONG, [rows]), 279: (LONG, counts)})
    entries = b""
    for tag in sorted(tags):
        kind, values = tags[tag]
        data = struct.pack(f"<{len(values)}{'H' if kind == SHORT else 'I'}", *values)
        if len(data) > 4:
            at = len(out)
            out += data + b"\0" * (len(data) % 2)
            data = struct.pack("<I", at)
        entries += struct.pack("<HHI", tag, kind, len(values)) + data.ljust(4, b"\0")
    out[4:8] = struct.pack("<I", len(out))
    return bytes(out + struct.pack("<H", len(tags)) + entries + b"\0\0\0\0")


def slow_tiff(ppm, work=1_000_000_000):
    """The picture of a PPM as a TIFF that goes through `work` bytes when it is decoded, at the speed of
    LZMA: its tiles reach far beyond its right edge, and two channels more are noise all over."""
    _, size, _, pixels = ppm.split(b"\n", 3)
    width, height = map(int, size.split())
    high, samples = 16, 5
    tiles = -(-height // high)
    wide = work // (samples * tiles * high) // 16 * 16

    def packed(data):
        return lzma.compress(data, preset=0)

    pieces = []
    for channel in range(3):
        plane = pixels[channel::3].ljust(tiles * high * width, b"\0")  # whole tiles
        rows = [plane[i:i + width].ljust(wide, b"\0") for i in range(0, len(plane), width)]
        pieces += [packed(b"".join(rows[i:i + high])) for i in range(0, len(rows), high)]
    noise = packed(random.Random(1).randbytes(wide * high).translate(bytes(i & 15 for i in range(256))))
    return tiff(width, height, samples, pieces + [noise] * (2 * tiles), (wide, high), apart=True, compression=LZMA)


def jpeg_segment(marker, data):
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(data) + 2) + data


def flat_jpeg(width, height, scans):
    """A grey progressive JPEG (ITU-T T.81, annexes B and G) of coefficients that are all zero: one bit a
    block for the first scan, and runs of up to 32767 blocks for each of the others."""
    blocks = -(-width // 8) * -(-height // 8)
    full, rest = divmod(blocks, 32767)
    runs = [32767] * full + [rest] * (rest > 0)
    bits = "".join("0" + f"{run - (1 << 14):014b}" for run in runs)  # the code, and how far beyond 2^14
    bits += "1" * (-len(bits) % 8)
    packed = int(bits, 2).to_bytes(len(bits) // 8, "big").replace(b"\xff", b"\xff\0")
    table = b"\x01" + bytes(15)  # one code, of one bit
    out = b"\xff\xd8" + jpeg_segment(0xDB, b"\0" + b"\x08" * 64)
    out += jpeg_segment(0xC2, struct.pack(">BHHB", 8, height, width, 1) + b"\x01\x11\0")
    out += jpeg_segment(0xC4, b"\x00" + table + b"\x00") + jpeg_segment(0xC4, b"\x10" + table + b"\xe0")
    out += jpeg_segment(0xDA, b"\x01\x01\0\0\0\0") + bytes(blocks // 8)
    for band in range(1, scans):
        out += jpeg_segment(0xDA, b"\x01\x01\0" + bytes([band, band, 0])) + packed
    return out + b"\xff\xd9"


def box(kind, data):
    return struct.pack(">I", len(data) + 8) + kind + data


def full_box(kind, data, version=0):
    return box(kind, bytes([version, 0, 0, 0]) + data)


def boxes(data):
    """Kind and content of the boxes in `data` (ISO/IEC 14496-12, 4.2)."""
    at = 0
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        yield kind, data[at + 8:at + size]
        at += size


def inside(data, *path):
    for kind in path:
        data = dict(boxes(data))[kind]
        data = data[4:] if kind == b"meta" else data
    return data


def heic_over_and_over(heic, width, height, times):
    """The one picture of a HEIC laid `times` over itself (ISO/IEC 23008-12, 6.6.2.2: iovl)."""
    found = dict(boxes(inside(heic, b"meta", b"iprp", b"ipco")))
    picture = inside(heic, b"mdat")
    size = full_box(b"ispe", struct.pack(">II", width, height))
    recipe = struct.pack(">BB4HHH", 0, 0, 0, 0, 0, 65535, width, height) + bytes(4 * times)
    items = b"".join(full_box(b"infe", struct.pack(">HH4sB", i, 0, kind, 0), 2)
                     for i, kind in ((1, b"hvc1"), (2, b"iovl")))
    uses = struct.pack(">HH", 2, times) + struct.pack(">H", 1) * times
    owns = struct.pack(">IHBBBHBB", 2, 1, 2, 0x81, 2, 2, 1, 2)  # which properties are whose
    first = box(b"ftyp", b"heic\0\0\0\0mif1heic")

    def meta(at):
        places = struct.pack(">BBHHHHIIHHHII", 0x44, 0, 2, 1, 0, 1, at, len(picture), 2, 0, 1,
                             at + len(picture), len(recipe))
        return full_box(b"meta", full_box(b"hdlr", bytes(4) + b"pict" + bytes(13)) +
                        full_box(b"pitm", struct.pack(">H", 2)) + full_box(b"iloc", places) +
                        full_box(b"iinf", struct.pack(">H", 2) + items) + full_box(b"iref", box(b"dimg", uses)) +
                        box(b"iprp", box(b"ipco", box(b"hvcC", found[b"hvcC"]) + size) + full_box(b"ipma", owns)))

    return first + meta(len(first) + len(meta(0)) + 8) + box(b"mdat", picture + recipe)
