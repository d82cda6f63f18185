#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bad input: one sentence each, the right exit code (sysexits.h), nothing written half."""
import os
import struct
import sys
import zlib

from harness import Skip, holds, main, one_sentence, same
from stored import flat_jpeg, heic_over_and_over, tiff

USAGE, DATA, NO_INPUT, CANNOT_CREATE, IO = 64, 65, 66, 73, 74


def refused(run, photo, code, name, *words):
    """The photo is refused as text and as JSON; nothing is left behind."""
    before = run.files()
    done = run.strandline("read", photo)
    one_sentence(done, os.path.basename(photo), *words)
    same(done.code, code, "exit code")
    done = run.strandline("read", "--json", photo)
    same(done.code, code, "exit code with --json")
    photos = done.document()["photos"]
    same(len(photos), 1, "photos in the document")
    same(photos[0]["error"]["code"], name, "error code in the document")
    holds(photos[0]["error"]["message"], "the error has no message")
    same(photos[0]["strips"], [], "strips of a refused photo")
    same(run.files(), before, "files afterwards")


def half_of(run, photo, name):
    """The first half of a photo, which must be refused as cut short or damaged."""
    data = open(photo, "rb").read()
    return run.write(name, data[:len(data) // 2])


def refused_as_cut(run, photo):
    done = run.strandline("read", "--json", photo)
    one_sentence(done, os.path.basename(photo))
    same(done.code, DATA, "exit code")
    holds(done.document()["photos"][0]["error"]["code"] in ("truncated", "damaged"),
          "not told as cut short or damaged")


def png_chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_header(width, height):
    """A PNG that claims a size (ISO/IEC 15948, IHDR) and holds next to nothing."""
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", header) +
            png_chunk(b"IDAT", zlib.compress(b"\0" * 64)) + png_chunk(b"IEND", b""))


def jpeg_with_size(photo, width, height):
    """A JPEG whose frame header (ITU-T T.81, B.2.2) is made to claim another size."""
    data = bytearray(open(photo, "rb").read())
    at = data.index(b"\xff\xc0")
    data[at + 5:at + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def jpeg_with_segment(photo, marker, payload):
    """A JPEG with one more segment right after its start."""
    data = open(photo, "rb").read()
    return data[:2] + b"\xff" + marker + struct.pack(">H", len(payload) + 2) + payload + data[2:]


def no_such_file(run):
    refused(run, run.path("nowhere.jpg"), NO_INPUT, "no-such-file")


def a_directory(run):
    os.mkdir(run.path("folder.jpg"))
    refused(run, run.path("folder.jpg"), NO_INPUT, "not-a-file")


def an_empty_file(run):
    refused(run, run.write("empty.jpg", b""), DATA, "empty-file")


def a_file_that_may_not_be_read(run):
    if os.geteuid() == 0:
        raise Skip("root may read everything")
    os.chmod(run.draw("single", "closed.jpg"), 0)
    refused(run, run.path("closed.jpg"), NO_INPUT, "cannot-read")


def text_named_as_a_photo(run):
    refused(run, run.write("letter.jpg", b"Dear reader,\nthis is no photo.\n" * 40), DATA,
            "unknown-format")


def a_cut_jpeg(run):
    refused_as_cut(run, half_of(run, run.draw("single", "a.jpg"), "cut.jpg"))


def a_cut_png(run):
    refused_as_cut(run, half_of(run, run.draw("single", "a.png"), "cut.png"))


def a_cut_heic(run):
    refused_as_cut(run, half_of(run, run.draw("single", "a.heic"), "cut.heic"))


def a_cut_tiff(run):
    refused_as_cut(run, half_of(run, run.draw("single", "a.tif"), "cut.tif"))


def photos_cut_to_their_first_bytes(run):
    for name in ("a.jpg", "a.png", "a.heic", "a.tif"):
        data = open(run.draw("single", name), "rb").read()
        for count in (1, 3, 12, 40, 200):
            photo = run.write(f"first-{count}-{name}", data[:count])
            done = run.strandline("read", photo)
            one_sentence(done)
            same(done.code, DATA, f"exit code of {count} bytes of {name}")


def a_png_of_no_size(run):
    photo = run.write("zero.png", png_header(0, 0))
    done = run.strandline("read", "--json", photo)
    one_sentence(done, "zero.png")
    same(done.code, DATA, "exit code")


def a_jpeg_of_no_size(run):
    photo = run.write("zero.jpg", jpeg_with_size(run.draw("single", "a.jpg"), 0, 0))
    done = run.strandline("read", "--json", photo)
    one_sentence(done, "zero.jpg")
    same(done.code, DATA, "exit code")


def a_png_that_claims_to_be_huge(run):
    refused(run, run.write("huge.png", png_header(60000, 60000)), DATA, "too-large", "60000")


def a_jpeg_that_claims_to_be_huge(run):
    photo = run.write("huge.jpg", jpeg_with_size(run.draw("single", "a.jpg"), 60000, 60000))
    refused(run, photo, DATA, "too-large", "60000")


def a_tiff_of_a_thousand_channels(run):
    """Each row is small when it is stored, and 3 MB when it is decoded."""
    piece = zlib.compress(bytes(3000 * 40 * 1000), 9)
    photo = run.write("channels.tif", tiff(3000, 4000, 1000, [piece] * 100, rows=40))
    refused(run, photo, DATA, "too-large", "1000", "limit is 5")


def a_tiff_of_five_channels_is_read(run):
    piece = zlib.compress(b"\xa5" * (200 * 100 * 5), 9)
    refused(run, run.write("five.tif", tiff(200, 100, 5, [piece], rows=100)), DATA, "no-strip")


def tiffs_that_take_more_work_than_they_show(run):
    row, tile = bytes(3 * 30000), bytes(3 * 256 * 256)
    cases = [
        # tiles that reach far beyond the right edge
        ("wide.tif", tiff(16, 29984, 3, [zlib.compress(bytes(3 * 16 * 60000), 9)] * 1874, tile=(60000, 16)), "4000 MB"),
        # one piece, most of which is never used, for each of many strips
        ("shared.tif", tiff(16, 29000, 3, [zlib.compress(row) + bytes(900_000)] * 29000), "4000 MB"),
        # a tile for each pixel
        ("tiny.tif", tiff(2016, 2016, 3, [zlib.compress(bytes(3))] * 2016 * 2016, tile=(1, 1)), "4000 MB"),
        ("tile.tif", tiff(256, 256, 3, [zlib.compress(tile)], tile=(65520, 65520)), "12878 MB each"),
    ]
    for name, data, words in cases:
        refused(run, run.write(name, data), DATA, "too-large", words)


def a_huge_jpeg_in_many_scans(run):
    photo = run.write("scans.jpg", flat_jpeg(16000, 12288, 64))
    refused(run, photo, DATA, "too-large", "21 pieces", "4000 MB")


def a_heic_of_one_picture_over_and_over(run):
    heic = open(run.draw("single", "a.heic"), "rb").read()
    photo = run.write("twice.heic", heic_over_and_over(heic, 900, 1200, 2))
    same(run.strandline("read", photo).code, 0, "exit code of two of them")
    photo = run.write("often.heic", heic_over_and_over(heic, 900, 1200, 60000))
    refused(run, photo, DATA, "too-large", "over and over")


def cmyk(run):
    refused(run, run.draw("single", "print.cmyk.jpg"), DATA, "colour-model")


def warned(run, photo, name):
    """The photo is read all the same, with this warning."""
    done = run.strandline("read", "--json", photo)
    same(done.err, "", "standard error")
    same(done.code, 0, "exit code")
    told = done.document()["photos"][0]
    holds(name in [w["code"] for w in told["warnings"]], f"no warning {name}: {told['warnings']}")
    same(len(told["strips"]), 1, "strips")


def a_broken_colour_profile(run):
    photo = run.draw("single", "a.jpg")
    payload = b"ICC_PROFILE\0\x01\x01" + b"\xa5" * 400
    warned(run, run.write("icc.jpg", jpeg_with_segment(photo, b"\xe2", payload)),
           "colour-profile-damaged")


def broken_exif(run):
    photo = run.draw("single", "a.jpg")
    payload = b"Exif\0\0II*\0\xff\xff\xff\xff" + b"\xa5" * 60
    warned(run, run.write("exif.jpg", jpeg_with_segment(photo, b"\xe1", payload)), "exif-damaged")


def no_colour_profile_is_told(run):
    warned(run, run.draw("single", "a.jpg"), "no-colour-profile")


def no_strip(run):
    refused(run, run.draw("none", "table.jpg"), DATA, "no-strip")


def a_strip_cut_off_by_the_frame(run):
    done = run.strandline("read", "--json", run.draw("cut-off", "cut-off.jpg"))
    told = done.document()["photos"][0]
    codes = [w["code"] for w in told["warnings"]]
    for strip in told["strips"]:
        codes += [w["code"] for w in strip["warnings"]]
    if told["error"]:
        one_sentence(done, "cut-off.jpg")
        same((told["error"]["code"], done.code), ("cut-off", DATA), "error and exit code")
    else:
        holds("strip-cut-off" in codes, f"no word about the frame: {codes}")


def a_black_frame(run):
    refused(run, run.draw("dark", "night.jpg"), DATA, "too-dark")


def a_burnt_out_frame(run):
    refused(run, run.draw("burnt-out", "glare.jpg"), DATA, "burnt-out")


def heavy_blur(run):
    done = run.strandline("read", "--json", run.draw("blurred", "blur.jpg"))
    told = done.document()["photos"][0]
    codes = [w["code"] for w in told["warnings"]]
    for strip in told["strips"]:
        codes += [w["code"] for w in strip["warnings"]]
    if told["error"]:
        one_sentence(done, "blur.jpg")
        same((told["error"]["code"], done.code), ("blurred", DATA), "error and exit code")
    else:
        holds("photo-blurred" in codes, f"no word about the blur: {codes}")


def a_blank_strip_has_no_bands(run):
    done = run.strandline("read", "--json", run.draw("blank", "blank.jpg"))
    same(done.code, 0, "exit code")
    strip = done.document()["photos"][0]["strips"][0]
    same(strip["bands"], [], "bands of a blank strip")
    holds("blank" in [w["code"] for w in strip["warnings"]], "no warning blank")


def one_bad_photo_does_not_stop_the_batch(run):
    good = run.draw("single", "good.jpg")
    bad = run.write("bad.jpg", b"")
    done = run.strandline("read", "--json", bad, good, run.path("nowhere.jpg"))
    photos = done.document()["photos"]
    same([p["error"]["code"] if p["error"] else None for p in photos],
         ["empty-file", None, "no-such-file"], "errors")
    same(len(photos[1]["strips"]), 1, "strips of the good photo")
    same(done.code, DATA, "exit code is that of the first problem")
    same(len(done.err.splitlines()), 2, "lines on standard error")
    done = run.strandline("read", "--json-lines", bad, good, bad)
    same(len(done.out.splitlines()), 3, "lines of a batch")
    same(done.code, DATA, "exit code of a batch")


def a_bad_photo_of_a_pair(run):
    done = run.strandline("pair", "--json", run.draw("single", "a.jpg"), run.path("nowhere.jpg"))
    one_sentence(done, "nowhere.jpg")
    same(done.code, NO_INPUT, "exit code")
    same(done.document()["pairs"], [], "pairs")


def one_strip_is_no_pair(run):
    done = run.strandline("pair", run.draw("single", "a.jpg"))
    one_sentence(done)
    same(done.code, DATA, "exit code")


def two_different_inks_as_a_pair(run):
    done = run.strandline("pair", run.draw("pair", "both.jpg"), "--ink", "Harbour", "--ink", "Reef")
    one_sentence(done, "Harbour", "Reef")
    same(done.code, USAGE, "exit code")


def bad_usage(run):
    cases = [
        ([], "--help"),
        (["reed"], "reed"),
        (["read"], "photo"),
        (["read", "--frobnicate", "a.jpg"], "--frobnicate"),
        (["read", "a.jpg", "--origin"], "--origin"),
        (["read", "--normalise", "a.jpg"], "--normalise"),
        (["overlay", "--json-lines", "a.jpg"], "--json-lines"),
        (["read", "--json", "--json-lines", "a.jpg"], "--json-lines"),
        (["read", "a.jpg", "--figure-format", "png"], "--figures"),
        (["read", "a.jpg", "--steps"], "--figures"),
        (["overlay", "a.jpg", "--figures", "f", "--steps"], "--steps"),
        (["read", "a.jpg", "--figures", "f", "--figure-format", "gif"], "gif"),
        (["read", "a.jpg", "--colour", "sometimes"], "sometimes"),
        (["read", "a.jpg", "--roles", "wet"], "wet"),
        (["read", "a.jpg", "--roles", "dried,,single"], "--roles"),
        (["read", "a.jpg", "--upside-down=perhaps"], "perhaps"),
        (["read", "a.jpg", "--corners", "1,2,3,4"], "--corners"),
        (["read", "a.jpg", "--corners", "1,2,3,4,5,6,7,8,9"], "--corners"),
        (["read", "a.jpg", "--paper-reflectance", "0.8,0.7"], "--paper-reflectance"),
        (["read", "a.jpg", "--origin", "0.1:0.2"], "--origin"),
        (["read", "a.jpg", "--csv-bands", "x.csv", "--html", "x.csv"], "x.csv"),
    ]
    for arguments, word in cases:
        done = run.strandline(*arguments)
        one_sentence(done, word)
        same(done.code, USAGE, f"exit code of {arguments}")
        same(done.out, "", f"standard output of {arguments}")
    same(run.files(), [], "files afterwards")


def numbers_out_of_range(run):
    """The sentence names the knob, the value and the limit."""
    cases = [
        ("--origin", "1.2", "1.2", "from 0 to 1"),
        ("--origin", "0.2,-0.1", "-0.1", "from 0 to 1"),
        ("--front", "91", "91", "from 0 to 1"),
        ("--length-mm", "0", "0", "from 5 to 1000"),
        ("--dip-s", "1e9", "1e9", "from 0.1 to 86400"),
        ("--dried-min", "-5", "-5", "from 0 to 525600"),
        ("--paper-reflectance", "1.5", "1.5", "from 0.02 to 1"),
        ("--corners", "1,2,3,4,5,6,7,1e7", "1e7", "from -30000 to 30000"),
        ("--origin", "low", "low", "number"),
        ("--origin", "nan", "nan", "number"),
        ("--front", "inf", "inf", "number"),
        ("--date", "2026-02-30", "2026-02-30", "date"),
        ("--date", "yesterday", "yesterday", "date"),
        ("--ink", "x" * 96, "96", "95"),
        ("--origin", ",".join(["0.1"] * 9), "8", "strips"),
        ("--band-limits", "0.3", "0.3", "0.3-0.42"),
        ("--band-limits", "0.3-1.2", "1.2", "from 0 to 1"),
        ("--band-limits", "0.4-0.3", "0.4-0.3", "lower end first"),
        ("--band-limits", "0.3-0.4-0.5", "0.4-0.5", "number"),
        ("--band-limits", "+".join(["0.1-0.2"] * 13), "12", "one strip"),
        ("--band-limits", ",".join(["0.1-0.2"] * 9), "8", "strips"),
    ]
    for option, value, *words in cases:
        done = run.strandline("read", "a.jpg", f"{option}={value}")
        one_sentence(done, option, *words)
        same(done.code, USAGE, f"exit code of {option}={value}")


def origin_above_the_front(run):
    for origin, front in (("0.9", "0.2"), ("0.5", "0.5"), ("0.1,0.8", "0.7"), ("0.1:0.9", "0.8")):
        done = run.strandline("read", "a.jpg", "b.jpg", "--origin", origin, "--front", front)
        one_sentence(done, "--origin", "--front", front)
        same(done.code, USAGE, "exit code")
    photo = run.draw("single", "c.jpg")  # its line is at 0.18, its front at 0.90
    for option, value, found in (("--origin", "0.97", "0.90"), ("--front", "0.01", "0.18")):
        done = run.strandline("read", photo, option, value)
        one_sentence(done, value, found)
        same(done.code, USAGE, "exit code")


def more_values_than_strips(run):
    photo = run.draw("single", "a.jpg")
    for option, value in (("--origin", "0.18,0.2"), ("--roles", "immediate,dried")):
        done = run.strandline("read", photo, option, value)
        one_sentence(done, "1")
        same(done.code, USAGE, "exit code")
    done = run.strandline("read", photo, "--ink", "Harbour", "--ink", "Reef")
    one_sentence(done, "2 inks", "1 strip")
    same(done.code, USAGE, "exit code")


def a_photo_is_never_overwritten(run):
    photo = run.draw("single", "a.jpg")
    before = open(photo, "rb").read()
    os.symlink("a.jpg", run.path("link.csv"))
    os.link(photo, run.path("hard.csv"))
    for target in ("a.jpg", "./a.jpg", photo, "link.csv", "hard.csv"):
        for option in ("--output", "--csv-bands", "--csv-profiles", "--html"):
            done = run.strandline("read", photo, option, target)
            one_sentence(done, target, "not overwritten")
            same(done.code, USAGE, "exit code")
    os.rename(photo, run.path("x-strip-1.png"))
    os.link(run.path("x-strip-1.png"), run.path("x.jpg"))
    done = run.strandline("read", "x.jpg", "--figures", ".")
    same(done.code, USAGE, "exit code")
    one_sentence(done, "x-strip-1.png", "not overwritten")
    holds(open(run.path("x.jpg"), "rb").read() == before, "the photo has changed")


def a_full_disk(run):
    """/dev/full refuses every byte (Linux, full(4))."""
    photo = run.draw("single", "a.jpg")
    for option in ("--output", "--csv-bands", "--csv-profiles", "--html"):
        done = run.strandline("read", photo, option, "/dev/full")
        one_sentence(done, "/dev/full")
        same(done.code, CANNOT_CREATE, f"exit code of {option}")
    for form in ([], ["--json"], ["--json-lines"]):
        with open("/dev/full", "w") as full:
            done = run.strandline("read", photo, *form, stdout=full)
        one_sentence(done, "standard output")
        same(done.code, IO, "exit code")
    with open("/dev/full", "w") as full:
        same(run.strandline("--help", stdout=full).code, IO, "exit code of --help")


def an_unwritable_place(run):
    photo = run.draw("single", "a.jpg")
    run.write("file", b"kept")
    before = run.files()
    cases = [("--output", "nowhere/out.txt"), ("--html", "file/out.html"), ("--csv-bands", "."),
             ("--figures", "file"), ("--figures", "file/deeper"), ("--figures", "/proc/figures")]
    for option, target in cases:
        done = run.strandline("read", photo, option, target)
        one_sentence(done)
        same(done.code, CANNOT_CREATE, f"exit code of {option} {target}")
        same(run.files(), before, f"files after {option} {target}")
    same(open(run.path("file"), "rb").read(), b"kept", "the file in the way")


def a_reading_that_is_none(run):
    for name, text in (("a.json", b"{"), ("b.json", b'{"strandline": 1'), ("c.json", b"{}"),
                       ("d.json", b'{"strandline": 99, "photos": []}'), ("e.json", b"[1, 2]")):
        done = run.strandline("read", run.write(name, text))
        one_sentence(done, name)
        same(done.code, DATA, f"exit code of {name}")


def a_reading_with_a_number_for_its_strips(run):
    saved = run.write("a.json", b'{"strandline": 1, "photos": [{"strips": 5}]}')
    for verb in ("read", "pair", "overlay"):
        done = run.strandline(verb, saved)
        one_sentence(done, "a.json", "photos[0].strips", "a list")
        same(done.code, DATA, f"exit code of {verb}")


def names_cannot_steer_the_terminal(run):
    done = run.strandline("read", "a\x1b[31mb\n.jpg")
    holds("\x1b" not in done.err + done.out, "an escape character reached the terminal")
    one_sentence(done)


TESTS = [
    no_such_file, a_directory, an_empty_file, a_file_that_may_not_be_read, text_named_as_a_photo,
    a_cut_jpeg, a_cut_png, a_cut_heic, a_cut_tiff, photos_cut_to_their_first_bytes,
    a_png_of_no_size, a_jpeg_of_no_size, a_png_that_claims_to_be_huge,
    a_jpeg_that_claims_to_be_huge, a_tiff_of_a_thousand_channels, a_tiff_of_five_channels_is_read,
    tiffs_that_take_more_work_than_they_show, a_huge_jpeg_in_many_scans,
    a_heic_of_one_picture_over_and_over, cmyk, a_broken_colour_profile, broken_exif,
    no_colour_profile_is_told, no_strip, a_strip_cut_off_by_the_frame, a_black_frame,
    a_burnt_out_frame, heavy_blur, a_blank_strip_has_no_bands,
    one_bad_photo_does_not_stop_the_batch, a_bad_photo_of_a_pair, one_strip_is_no_pair,
    two_different_inks_as_a_pair, bad_usage, numbers_out_of_range, origin_above_the_front,
    more_values_than_strips, a_photo_is_never_overwritten, a_full_disk, an_unwritable_place,
    a_reading_that_is_none, a_reading_with_a_number_for_its_strips,
    names_cannot_steer_the_terminal,
]

if __name__ == "__main__":
    sys.exit(main(TESTS))
