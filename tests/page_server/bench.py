# SPDX-License-Identifier: GPL-3.0-or-later
"""The real `strandline bench` and a client that can be as rude as a test needs."""
import http.client
import json
import os
import pathlib
import resource
import signal
import socket
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "cli"))

PHOTOS = pathlib.Path(__file__).resolve().parent.parent.parent / "fixtures" / "photos"
PATIENCE_S = 120  # for a reading on a busy machine, under a sanitizer


class Bench:
    """`with Bench(run) as bench:` one running server with its state in the test's folder."""

    def __init__(self, run, *options, state="state", environment=None):
        self.run, self.options, self.state, self.environment = run, options, run.path(state), environment or {}
        self.folder = pathlib.Path(self.state) / "strandline/bench"
        self.said = ""  # on standard error, once it has ended

    def __enter__(self):
        variables = {k: v for k, v in os.environ.items()
                     if k.startswith(("ASAN", "UBSAN", "LSAN", "TSAN", "LD_")) or k == "PATH"}
        variables.update({"LC_ALL": "C.UTF-8", "HOME": self.run.path("home"),
                          "XDG_STATE_HOME": self.state, **self.environment})
        self.process = subprocess.Popen([self.run.program, "bench", "--no-open", *self.options],
                                        env=variables, stdin=subprocess.DEVNULL,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().strip()
        if not self.address:
            raise AssertionError(f"no address was printed: {self.process.stderr.read()}")
        host, self.key = self.address.removeprefix("http://").rstrip("/").split("/")
        self.port = int(host.split(":")[1])
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()
        self.process.stdout.close()
        self.process.stderr.close()

    def stop(self, number=signal.SIGINT):
        self.process.send_signal(number)
        try:
            code = self.process.wait(timeout=20)
            self.said = self.process.stderr.read()
            return code
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            raise AssertionError("it did not stop within 20 s") from None

    def ask(self, method, path, body=None, headers=None, whole=False):
        """Status, headers and body. `whole`: the path is given with its key."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        try:
            connection.request(method, path if whole else f"/{self.key}/{path}", body, headers or {})
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()

    def get(self, path, wanted=200):
        status, _, body = self.ask("GET", path)
        if status != wanted:
            raise AssertionError(f"GET {path}: {status} {body[:300]}")
        return body

    def json(self, method, path, value=None, wanted=200):
        body = None if value is None else json.dumps(value).encode()
        status, _, text = self.ask(method, path, body)
        if status != wanted:
            raise AssertionError(f"{method} {path}: {status} instead of {wanted}: {text[:300]}")
        return json.loads(text) if text else None

    def put(self, data, name, wanted=202):
        status, _, text = self.ask("PUT", f"photos?name={name}", data)
        if status != wanted:
            raise AssertionError(f"PUT {name}: {status} instead of {wanted}: {text[:300]}")
        return json.loads(text)

    def drop(self, name):
        """A photo of the fixtures, read."""
        return self.put((PHOTOS / name).read_bytes(), name)["ids"][0]

    def settled(self):
        """The state once every photo has been read."""
        end = time.monotonic() + PATIENCE_S
        state = self.json("GET", "state")
        while any(p["phase"] != "done" for p in state["photos"]):
            if time.monotonic() > end:
                raise AssertionError("the photos were not read in time")
            state = self.json("GET", f"state?after={state['version']}")
        return state

    def raw(self, data, patience_s=30):
        """Sends bytes as they are; all that comes back until the server closes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=patience_s) as line:
            line.sendall(data)
            answer = b""
            while True:
                try:
                    more = line.recv(65536)
                except ConnectionResetError:
                    return answer
                if not more:
                    return answer
                answer += more

    def disk_is_full(self, full):
        """No file of the program may grow beyond a few bytes while it is: a writing fails, as on a full disk."""
        most = 16 if full else resource.RLIM_INFINITY
        resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))

    def kept(self):
        """The list of what is on the page as it stands on the disk."""
        return json.loads((self.folder / "state.json").read_bytes())

    def memory_kib(self, what="VmHWM"):
        for line in open(f"/proc/{self.process.pid}/status", encoding="ascii"):
            if line.startswith(what + ":"):
                return int(line.split()[1])
        raise AssertionError("the system tells no memory")
