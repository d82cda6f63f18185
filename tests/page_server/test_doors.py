#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every door is shut to who should not come in, and the page works on behind it."""
import json
import socket
import struct
import sys
import time
import zlib

from bench import Bench
from harness import holds, main, same


def still_works(bench):
    same(bench.json("GET", "state")["photos"] is not None, True, "the state")


def refused(bench, wanted, method, path, body=None, headers=None, whole=False):
    status, _, text = bench.ask(method, path, body, headers, whole)
    same(status, wanted, f"{method} {path} {headers or ''}")
    error = json.loads(text)["error"]
    holds(error["code"] and error["message"].endswith("."), f"no plain error: {error}")
    still_works(bench)


def the_key(run):
    with Bench(run) as bench:
        same(len(bench.key), 32, "hex digits of the key")
        with_other_key = ("0" if bench.key[0] != "0" else "1") + bench.key[1:]
        for path in ("/", "/state", f"/{with_other_key}/state", f"/{bench.key[:31]}/state",
                     f"/{bench.key}", f"/{bench.key.upper()}x/state", f"//{bench.key}/state"):
            refused(bench, 403, "GET", path, whole=True)
        refused(bench, 403, "PUT", "/photos?name=x.jpg", b"x", whole=True)
        first = bench.key
    with Bench(run) as bench:
        holds(bench.key != first, "two runs have the same key")
        refused(bench, 403, "GET", f"/{first}/state", whole=True)


def foreign_host_and_origin(run):
    with Bench(run) as bench:
        for host in ("example.org", f"example.org:{bench.port}", "127.0.0.1", f"127.0.0.1:{bench.port + 1}",
                     f"127.0.0.1.example.org:{bench.port}"):
            refused(bench, 403, "GET", "state", headers={"Host": host})
        for host in (f"localhost:{bench.port}", f"[::1]:{bench.port}"):
            same(bench.ask("GET", "state", headers={"Host": host})[0], 200, host)
        for origin in ("http://example.org", "null", f"https://127.0.0.1:{bench.port}",
                       f"http://127.0.0.1:{bench.port + 1}"):
            refused(bench, 403, "POST", "pairs", b'{"pairs":[]}', {"Origin": origin})
        own = {"Origin": f"http://127.0.0.1:{bench.port}", "Sec-Fetch-Site": "same-origin"}
        same(bench.ask("POST", "pairs", b'{"pairs":[]}', own)[0], 200, "the page's own origin")
        for site in ("cross-site", "same-site"):
            refused(bench, 403, "GET", "state", headers={"Sec-Fetch-Site": site})
        path = f"/{bench.key}/state"
        none = bench.raw(f"GET {path} HTTP/1.1\r\nConnection: close\r\n\r\n".encode())
        holds(none.split()[1] in (b"400", b"403"), f"without Host: {none[:60]}")
        two = bench.raw(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\nHost: example.org\r\n"
                        "Connection: close\r\n\r\n".encode())
        holds(two.split()[1] in (b"400", b"403"), f"two Hosts: {two[:60]}")
        still_works(bench)


def loopback_alone(run):
    with Bench(run) as bench:
        def listening(table):
            rows = [line.split() for line in open(table, encoding="ascii").read().splitlines()[1:]]
            return {row[1].split(":")[0] for row in rows
                    if row[3] == "0A" and int(row[1].split(":")[1], 16) == bench.port}
        same(listening("/proc/net/tcp"), {"0100007F"}, "IPv4 addresses listened on")
        holds(listening("/proc/net/tcp6") <= {"00000000000000000000000001000000"},
              "an IPv6 address other than ::1 is listened on")


def paths_that_climb(run):
    with Bench(run) as bench:
        for path in ("assets/../state.json", "assets/..%2f..%2fstate.json", "../../etc/passwd", "assets/%2e%2e/x",
                     "assets/", "assets/index.html%00.js", "photos/../state.json", "photos/p1/../../x", "state/",
                     "photos/p999/reading", "photos/p1/strips/-1/picture", "export/nothing", "export/../x",
                     "photos/" + "p" * 300 + "/reading"):
            refused(bench, 404, "GET", path)


def methods(run):
    with Bench(run) as bench:
        status, headers, _ = bench.ask("POST", "state", b"{}")
        same((status, headers["Allow"]), (405, "GET"), "POST state")
        refused(bench, 405, "GET", "photos")
        refused(bench, 405, "DELETE", "pairs")
        refused(bench, 405, "BREW", "state")


def too_large(run):
    with Bench(run) as bench:
        host = f"Host: 127.0.0.1:{bench.port}\r\n"
        told = bench.raw(f"PUT /{bench.key}/photos?name=a.jpg HTTP/1.1\r\n{host}Content-Length: 300000000\r\n"
                         "\r\n".encode())
        same(told.split()[1], b"413", "a length over the limit")
        told = bench.raw(f"POST /{bench.key}/pairs HTTP/1.1\r\n{host}Content-Length: 1048577\r\n\r\n".encode())
        same(told.split()[1], b"413", "JSON over the limit")
        # without a length it is found while receiving: 1.5 MB in pieces, and the line is cut
        piece = b"10000\r\n" + b" " * 65536 + b"\r\n"
        try:
            answer = bench.raw(f"POST /{bench.key}/pairs HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\n\r\n".encode()
                               + piece * 24)
        except (BrokenPipeError, ConnectionResetError):
            answer = b""
        holds(b" 200 " not in answer[:20], "more than the limit was taken in pieces")
        refused(bench, 413, "GET", "state", b"a body where none belongs")
        still_works(bench)


def malformed_bodies(run):
    with Bench(run) as bench:
        for path in ("pairs", "overlay", "conditions"):
            for body in (b"", b"x", b"[]", b'{"pairs":', b'{"pairs":{}}', b'{"pairs":[1]}', b'{"strips":[]}',
                         b'{"strips":[["p1"]]}', b"\xff\xfe", b'{"ink":1}', b'{"a":1,"a":2}'):
                status = bench.ask("POST", path, body)[0]
                # conditions without any member say that nothing is told
                holds(status == 400 or path == "conditions", f"{path} {body}: {status}")
        multipart = (b"--x\r\nContent-Disposition: form-data; name=f; filename=a.jpg\r\n\r\n\xff\xd8\xff\r\n--")
        form = {"Content-Type": "multipart/form-data; boundary=x"}
        refused(bench, 400, "POST", "conditions", multipart, form)
        # a file in a form is no photo: it is taken as it came, and told to be none
        photo_id = bench.ask("PUT", "photos?name=a.jpg", multipart, form)
        same(photo_id[0], 202, "a form sent as a photo")
        problem = bench.settled()["photos"][-1]["error"]
        same(problem and problem["code"], "unknown-format", "what is said of it")
        bench.ask("DELETE", f"photos/{json.loads(photo_id[2])['ids'][0]}")
        refused(bench, 400, "PUT", "photos", b"x")
        refused(bench, 400, "PUT", "photos?name=..", b"x")
        refused(bench, 400, "PUT", "photos?name=a.jpg", b"")
        refused(bench, 422, "PUT", "photos?name=a.json", b'{"strandline": 99}')
        refused(bench, 404, "POST", "photos/p7/hand", b'{"strips":[]}')
        refused(bench, 400, "GET", "state?after=x")
        for query in ("", "?x=0&y=0&w=401&h=1", "?x=0&y=0&w=0&h=1", "?x=a&y=0&w=1&h=1"):
            refused(bench, 400, "GET", "photos/p1/region" + query)


def not_http(run):
    with Bench(run) as bench:
        for data in (b"\r\n\r\n", b"hello\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" * 8,
                     b"GET / HTTP/1.1\r\n" + b"A: " + b"b" * 70000 + b"\r\n\r\n",
                     f"PUT /{bench.key}/photos?name=a HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\n"
                     "Content-Length: -5\r\n\r\n".encode()):
            answer = bench.raw(data)
            holds(b" 200 " not in answer[:20] and b" 202 " not in answer[:20], f"{data[:30]}: {answer[:40]}")
            still_works(bench)


def too_slow(run):
    with Bench(run) as bench:
        begin = time.monotonic()
        with socket.create_connection(("127.0.0.1", bench.port), timeout=30) as line:
            line.sendall(b"GET / HT")
            closed = False
            while not closed and time.monotonic() - begin < 25:
                try:  # a trickle that keeps the line busy
                    line.sendall(b"x")
                    time.sleep(0.5)
                    line.settimeout(0.01)
                    closed = line.recv(1) == b""
                except TimeoutError:
                    pass
                except (BrokenPipeError, ConnectionResetError):
                    closed = True
        took = time.monotonic() - begin
        holds(closed and 9 < took < 16, f"a slow head was closed after {took:.1f} s")
        still_works(bench)


def too_slow_with_the_body(run):
    """A body that trickles in is cut off too, and leaves no file behind."""
    with Bench(run) as bench:
        begin = time.monotonic()
        with socket.create_connection(("127.0.0.1", bench.port), timeout=90) as line:
            line.sendall(f"PUT /{bench.key}/photos?name=a.jpg HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\n"
                         "Content-Length: 1000000\r\n\r\n".encode())
            closed = False
            while not closed and time.monotonic() - begin < 85:
                try:
                    line.sendall(b"x")
                    time.sleep(0.5)
                    line.settimeout(0.01)
                    closed = line.recv(1) == b""
                except TimeoutError:
                    pass
                except (BrokenPipeError, ConnectionResetError):
                    closed = True
        took = time.monotonic() - begin
        holds(closed and 55 < took < 80, f"a slow body was cut off after {took:.1f} s")
        still_works(bench)
        same(bench.json("GET", "state")["photos"], [], "photos")
        files = bench.folder / "files"
        end = time.monotonic() + 10
        while list(files.iterdir()) and time.monotonic() < end:
            time.sleep(0.2)
        same([p.name for p in files.iterdir()], [], "files left behind")


def too_many(run):
    with Bench(run) as bench:
        version = bench.json("GET", "state")["version"]
        text = (f"GET /{bench.key}/state?after={version} HTTP/1.1\r\n"
                f"Host: 127.0.0.1:{bench.port}\r\n\r\n").encode()
        lines = []
        try:
            for _ in range(30):
                line = socket.create_connection(("127.0.0.1", bench.port), timeout=10)
                line.sendall(text)
                lines.append(line)
            refusals = 0
            end = time.monotonic() + 10
            for line in lines:
                line.settimeout(0.2)
                try:
                    answer = line.recv(4096)
                    refusals += b" 503 " in answer[:20] and b"Retry-After" in answer
                except TimeoutError:
                    pass
                if time.monotonic() > end:
                    break
            holds(refusals >= 6, f"{refusals} of 30 requests at once were refused")
        finally:
            for line in lines:
                line.close()
        end = time.monotonic() + 30  # those that wait hold their places until their time is over
        while bench.ask("GET", "state")[0] != 200:
            holds(time.monotonic() < end, "the places were not given back")
            time.sleep(0.5)


def png(width, height):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
            + chunk(b"IDAT", zlib.compress(b"\0" * 10000)) + chunk(b"IEND", b""))


def image_bombs_and_programs(run):
    with Bench(run) as bench:
        page = b"<script>alert(1)</script><svg xmlns='http://www.w3.org/2000/svg'/>"
        ids = [bench.put(data, name)["ids"][0] for data, name in
               ((png(60000, 60000), "bomb.png"), (page, "page.html"), (b"#!/bin/sh\ntouch /tmp/x\n", "run.jpg"),
                (b"\xff\xd8\xff\xe0" + b"\0" * 100, "cut.jpg"))]
        state = bench.settled()
        for photo, code in zip(state["photos"], ("too-large", "unknown-format", "unknown-format", None)):
            holds(photo["error"], f"{photo['name']} has no error")
            holds(code is None or photo["error"]["code"] == code, f"{photo['name']}: {photo['error']}")
        for photo_id in ids:
            status, headers, body = bench.ask("GET", f"photos/{photo_id}/picture")
            same(status, 422, "a picture of what is none")
            same(headers["Content-Type"], "application/json", "its type")
            holds(page not in body, "what was sent came back")
        holds(bench.memory_kib() < 300 * 1024 or "sanitize" in str(run.program), "memory after a bomb")
        still_works(bench)


def headers_of_all_answers(run):
    with Bench(run) as bench:
        for path in ("", "state", "nothing", "export/json"):
            _, headers, _ = bench.ask("GET", path)
            same(headers["X-Content-Type-Options"], "nosniff", path)
            same(headers["Referrer-Policy"], "no-referrer", path)
            same(headers["Cross-Origin-Resource-Policy"], "same-origin", path)
            policy = headers["Content-Security-Policy"]
            holds(policy.startswith("default-src 'none'"), f"{path}: {policy}")
            holds("unsafe" not in policy and "http" not in policy, f"{path}: {policy}")
            holds("Access-Control-Allow-Origin" not in headers, path)


if __name__ == "__main__":
    sys.exit(main([the_key, foreign_host_and_origin, loopback_alone, paths_that_climb, methods, too_large,
                   malformed_bodies, not_http, too_slow, too_slow_with_the_body, too_many, image_bombs_and_programs,
                   headers_of_all_answers]))
