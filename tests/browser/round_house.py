"""A gallery of one round for the browser: shell, example pack, drawings, an outbox that judges.

Everything that comes to the outbox is held against the agreed shape and kept by its id, as the
gallery does it; the way it answers can be changed while a test runs.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import mimetypes
import ssl
import threading
from copy import deepcopy
from datetime import datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from django.template.loader import render_to_string
from jsonschema import Draft202012Validator

from gallery_ops.web.pages.offline import worker_source

ROOT = Path(__file__).parents[2]
STATIC = ROOT / "gallery_ops/web/static"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'"
)
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="elev" viewBox="-1 -1 92 47">'
    '<style>.gl{stroke:red}</style><path class="lv" d="M0 3H90"/>'
    '<path class="gl" d="M0 0V45H90V0"/></svg>'
)
OPEN = ("/first-minute/", "/no-network/")
Json = dict[str, Any]


class RoundHouse:
    """mode : "ok", "held", or the number of an HTTP status with which the outbox answers.

    version : of the pages; another one is another program.
    keeps : where the page keeps what waits, "tablet" or "page".
    ahead_h : by how many hours its clock is before that of the tablet.
    came : how many actions came, also those that were here.
    https : key and certificate in one file, and the name they are for; without it plain http.
    """

    def __init__(self, https: tuple[Path, str] | None = None) -> None:
        self.pack: Json = json.loads((ROOT / "tests/js/pack.example.json").read_text("utf-8"))
        self.mode: str | int = "ok"
        self.keeps = "tablet"
        self.version = "one"
        self.ahead_h = 0
        self.actions: list[Json] = []
        self.came = 0
        self.photos: dict[str, bytes] = {}
        self.wrong: list[str] = []
        shape = (ROOT / "maintenance/actions/outbox.schema.json").read_text("utf-8")
        self.shape = Draft202012Validator(json.loads(shape))
        house = self

        class Handler(BaseHTTPRequestHandler):
            def log_message(self, format: str, *args: Any) -> None:
                """Say nothing."""

            def do_GET(self) -> None:
                house.get(self)

            def do_POST(self) -> None:
                house.post(self)

            def do_PUT(self) -> None:
                house.put(self)

        self.handler = Handler
        self.https = https
        self.port = 0
        self.open()
        self.address = f"https://{https[1]}" if https else "http://127.0.0.1"
        self.address += f":{self.port}"

    def knows_pin(self, pin: str) -> Json:
        """Everybody of the pack has this PIN, known on this tablet; gives the first of them."""
        salt, own = bytes(range(16)), bytes(range(16, 32))
        base = hashlib.pbkdf2_hmac("sha256", pin.encode(), salt, 600_000)
        verifier = hmac.digest(own, base, "sha256").hex()
        self.pack["tablet"] = {"pin_salt": own.hex()}
        for person in self.pack["people"]:
            person["pin"] = {"salt": salt.hex(), "iterations": 600_000, "verifier": verifier}
        return dict(self.pack["people"][0])

    def open(self) -> None:
        """Answer, after a pause at the same address as before."""
        self.server = ThreadingHTTPServer(("127.0.0.1", self.port), self.handler)
        self.port = self.server.server_address[1]
        if self.https:
            shows = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
            shows.load_cert_chain(self.https[0])
            self.server.socket = shows.wrap_socket(
                self.server.socket, server_side=True, do_handshake_on_connect=False
            )
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self) -> None:
        """Answer no more: for a tablet the network is gone."""
        self.server.shutdown()
        self.server.server_close()

    def of(self, kind: str) -> list[Json]:
        """What came of this kind, in order of arrival."""
        return [action for action in self.actions if action["kind"] == kind]

    def get(self, asked: BaseHTTPRequestHandler) -> None:
        """Shell, pack, drawings, files."""
        path = asked.path.partition("?")[0]
        if path == "/round/":
            _answer(asked, 200, self._shell(), "text/html; charset=utf-8", self.version)
        elif path == "/sw.js":
            _answer(asked, 200, self._worker(), "text/javascript; charset=utf-8")
        elif path in OPEN or path.startswith("/rounds/"):
            _answer(asked, 200, f"<title>{path}</title><h1>{path}</h1>", "text/html")
        elif path == "/pack":
            _answer(asked, 200, json.dumps(self._pack_now()))
        elif path.startswith("/drawings/"):
            _answer(asked, 200, DRAWING, "image/svg+xml")
        elif path.startswith("/static/") and (STATIC / path[8:]).is_file():
            kind = mimetypes.guess_type(path)[0] or "application/octet-stream"
            _answer(asked, 200, (STATIC / path[8:]).read_bytes(), kind)
        elif path == "/board/":
            _answer(asked, 200, _board(asked.path), "text/html; charset=utf-8")
        else:
            _answer(asked, 404, "{}")

    def post(self, asked: BaseHTTPRequestHandler) -> None:
        """The outbox, and signing out."""
        if asked.path == "/sign-out/":
            return _answer(asked, 200, "{}")
        if asked.path != "/outbox":
            return _answer(asked, 404, "{}")
        body = json.loads(asked.rfile.read(int(asked.headers["Content-Length"])))
        if isinstance(self.mode, int):
            return _answer(asked, self.mode, "{}")
        self.wrong += [error.message[:200] for error in self.shape.iter_errors(body)]
        self.came += len(body["actions"])
        known = {action["action_id"] for action in self.actions}
        verdicts = []
        for action in body["actions"]:
            is_new = action["action_id"] not in known
            verdict = "held" if self.mode == "held" else "accepted" if is_new else "duplicate"
            words = "There is no such tank here." if verdict == "held" else None
            verdicts.append({"action_id": action["action_id"], "verdict": verdict, "words": words})
            if is_new:
                self.actions.append(action)
        answer = {
            "epoch": self.pack["epoch"],
            "server_time": _later(body["sent_at"], self.ahead_h),
            "received_up_to": self._up_to(),
            "missing": [],
            "verdicts": verdicts,
        }
        return _answer(asked, 200, json.dumps(answer))

    def put(self, asked: BaseHTTPRequestHandler) -> None:
        """A piece of a photo, in order; whole pieces only."""
        piece = asked.rfile.read(int(asked.headers["Content-Length"] or 0))
        where, _, size = asked.headers["Content-Range"].removeprefix("bytes ").partition("/")
        name = asked.path.rpartition("/")[2]
        here = self.photos.get(name, b"")
        if where != "*":
            assert int(where.partition("-")[0]) == len(here)
            here = self.photos[name] = here + piece
        told = {"received_bytes": len(here), "is_whole": len(here) == int(size)}
        _answer(asked, 200, json.dumps(told))

    def _up_to(self) -> int:
        seqs = {action["seq"] for action in self.actions}
        up_to = 0
        while up_to + 1 in seqs:
            up_to += 1
        return up_to

    def _pack_now(self) -> Json:
        pack = deepcopy(self.pack)
        undone = {action["body"]["takes_back"] for action in self.of("undo")}
        for stop in pack["stops"]:
            stop["entries"] = [
                {key: action[key] for key in _ENTRY}
                for action in self.actions
                if action["stop_id"] == stop["id"]
                and action["kind"] not in {"undo", "stop_leave"}
                and action["action_id"] not in undone
            ]
        opened = self.of("round_open")
        pack["round"]["opened_at"] = opened[0]["done_at"] if opened else None
        return pack

    def _worker(self) -> str:
        folders = ("web/css", "web/js", "web/fonts", "web/icons")
        found = (file for folder in folders for file in (STATIC / folder).rglob("*"))
        files = sorted(f"/static/{f.relative_to(STATIC)}" for f in found if f.suffix in _SERVED)
        return f"// {self.version}\n" + worker_source(
            files,
            {
                "static": "/static/",
                "drawings": "/drawings/",
                "rounds": "/round",
                "packs": "/pack",
                "signOut": "/sign-out/",
                "open": ["/first-minute/"],
                "noNetwork": "/no-network/",
            },
        )

    def _shell(self) -> str:
        shell = {
            "screen": "stop", "pack": "/pack", "outbox": "/outbox", "device": "tablet-1",
            "worker": "/sw.js", "next_seq": self._up_to() + 1, "keeps": self.keeps, "proof": "pin",
            "list": "/rounds/", "board": "/board/",
            "first_minute": "/first-minute/", "sign_in": "/sign-in/",
            "signed_in": "s1", "unlock": "/unlock", "tries": "/tries",
        }  # fmt: skip
        round_ = f"Opening {self.version}"
        return render_to_string("web/round/stop.html", {"round": round_, "shell": shell})


def _board(path: str) -> str:
    """A page of staff that is not the round, as far as it tells what waits on the tablet."""
    device = path.partition("?device=")[2] or "tablet-1"
    tablet = {"device": device, "outbox": "/outbox", "zone": "Europe/London", "held": "/held/"}
    told = render_to_string("web/parts/waiting.html", {"tablet": tablet})
    sheets = "".join(
        f'<link rel="stylesheet" href="/static/web/css/{name}.css">'
        for name in ("tokens", "base", "frame")
    )
    script = '<script type="module" src="/static/web/js/parts/waiting.js"></script>'
    head = f'<!doctype html><html lang="en"><title>board</title>{sheets}{script}'
    return f"{head}{told}<main><h1>Today</h1></main>"


_SERVED = {".css", ".js", ".woff2", ".svg", ".png"}
_ENTRY = ("action_id", "kind", "task_id", "person_id", "done_at", "body")


def _later(said: str, hours: int) -> str:
    return (datetime.fromisoformat(said) + timedelta(hours=hours)).isoformat()


def _answer(
    asked: BaseHTTPRequestHandler,
    status: int,
    body: str | bytes,
    kind: str = "application/json",
    version: str = "",
) -> None:
    data = body.encode() if isinstance(body, str) else body
    asked.send_response(status)
    asked.send_header("Content-Type", kind)
    asked.send_header("Content-Length", str(len(data)))
    asked.send_header("Content-Security-Policy", POLICY)
    if version:
        asked.send_header("X-Gallery-Version", version)
    asked.end_headers()
    asked.wfile.write(data)
