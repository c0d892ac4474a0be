"""A temporary time-stamping service on loopback, by `openssl ts`."""

import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

from typing_extensions import override

CONFIG = """[req]
distinguished_name=dn
x509_extensions=ext
prompt=no
[dn]
CN=Stamper
[ext]
extendedKeyUsage=critical,timeStamping
basicConstraints=critical,CA:true
[tsa]
default_tsa=one
[one]
serial=serial
signer_digest=sha256
default_policy=1.2.3.4
digests=sha256
accuracy=secs:1
"""


def openssl(cwd: Path, *arguments: object) -> int:
    return subprocess.run(
        ["openssl", *map(str, arguments)], cwd=cwd, capture_output=True, check=False
    ).returncode


def new_service(folder: Path) -> Path:
    """Make a service's key and root certificate in a folder; return the folder."""
    folder.mkdir(exist_ok=True)
    (folder / "ts.cnf").write_text(CONFIG)
    (folder / "serial").write_text("01\n")
    made = "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -config ts.cnf"
    assert openssl(folder, *made.split(), "-keyout", "tsa.key", "-out", "tsa.crt") == 0
    return folder


def answered(service: Path, query: bytes) -> bytes:
    (service / "query.tsq").write_bytes(query)
    answer = "ts -reply -config ts.cnf -inkey tsa.key -signer tsa.crt -queryfile query.tsq"
    assert openssl(service, *answer.split(), "-out", "answer.tsr") == 0
    return (service / "answer.tsr").read_bytes()


def holds(service: Path, message: Path, stamp: Path) -> bool:
    """Check a stamp with the command in the read-me."""
    args = ("-data", message, "-in", stamp, "-CAfile", "tsa.crt")
    return openssl(service, "ts", "-verify", *args) == 0


class Serving:
    """A running service: its address, its number of requests, and an answer to give instead."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.asked = 0
        self.instead: bytes | None = None
        self.kind = "application/timestamp-reply"


@contextmanager
def serving(service: Path) -> Iterator[Serving]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            query = self.rfile.read(int(self.headers["Content-Length"]))
            state.asked += 1
            answer = answered(service, query) if state.instead is None else state.instead
            self.send_response(200)
            self.send_header("Content-Type", state.kind)
            self.end_headers()
            self.wfile.write(answer)

        @override
        def log_message(self, format: str, *args: object) -> None:
            del format, args

    server = HTTPServer(("127.0.0.1", 0), Handler)
    state = Serving(f"http://127.0.0.1:{server.server_port}/")
    thread = threading.Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    try:
        yield state
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
