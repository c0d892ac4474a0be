"""A stand-in for the chat platform's server: its HTTP interface on loopback, kept in memory.

What it does was read in the platform's published server source, and tried against the
library: updates are gone once confirmed, a press lives 150 s, a second poll ends the first.
"""

import time
from collections import Counter
from collections.abc import Callable
from typing import Any, Self

from aiohttp import ClientSession, web

from bot.channels.telegram.updates import sender_of
from tests.standin.faults import ApiError, Cut, Fault, Faults
from tests.standin.methods import Methods, number
from tests.standin.world import World

TOKEN = "7000001:TEST-only-stand-in-token-0000000000"  # noqa: S105  of the stand-in only
LARGEST_CALL = 60 << 20


class StandIn:
    """Serves one bot's token; `world` is what tests act on and look at."""

    def __init__(self, token: str = TOKEN, clock: Callable[[], float] = time.time) -> None:
        self.token = token
        self.world = World(int(token.split(":", maxsplit=1)[0]), clock)
        self.methods = Methods(self.world)
        self.faults = Faults()
        self.counts: Counter[str] = Counter()
        self.calls: list[tuple[str, dict[str, Any]]] = []
        self.keep_calls = True
        self.base = ""
        self._runner: web.AppRunner | None = None

    def fails(self, method: str, kind: str, **more: Any) -> None:
        """Script one failure."""
        self.faults.add(Fault(method, kind, **more))

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.stop()

    async def start(self, port: int = 0) -> None:
        app = web.Application(client_max_size=LARGEST_CALL)
        app.router.add_route("*", "/bot{token}/{method}", self._call)
        app.router.add_get("/file/bot{token}/{path:.+}", self._download)
        self._runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.2)
        await self._runner.setup()
        site = web.TCPSite(self._runner, "127.0.0.1", port)
        await site.start()
        found = self._runner.addresses[0]
        self.base = f"http://{found[0]}:{found[1]}"

    async def stop(self) -> None:
        self.methods.end_polls()
        if self._runner is not None:
            await self._runner.cleanup()

    async def brings(self, address: str) -> list[int]:
        """Bring what is queued to the webhook, at the address its proxy passes it on to.

        One chat's updates one after another, and none behind one that was not taken. Return the
        answers.
        """
        answers: list[int] = []
        stuck: set[int] = set()
        headers = {"X-Telegram-Bot-Api-Secret-Token": self.methods.webhook["secret"]}
        async with ClientSession() as session:
            for update in self.world.updates():
                sender = sender_of(update)
                if sender in stuck:
                    continue
                async with session.post(address, json=update, headers=headers) as answer:
                    answers.append(answer.status)
                    if answer.status == 200:
                        self.world.brought(update["update_id"])
                    elif sender is not None:
                        stuck.add(sender)
        return answers

    async def _call(self, request: web.Request) -> web.StreamResponse:
        if request.match_info["token"] != self.token:
            return _refusal(ApiError(401, "Unauthorized"))
        name = request.match_info["method"]
        given, files = await _given(request)
        self.counts[name] += 1
        if self.keep_calls and name != "getUpdates":
            self.calls.append((name, given))
        chat = number(given.get("chat_id"))
        method = getattr(self.methods, name.lower(), self.methods.unknown)
        try:
            await self.faults.strike(name, chat, "before")
            result = await method(given, files)
            await self.faults.strike(name, chat, "after")
        except Cut:
            if request.transport is not None:
                request.transport.abort()
            return web.Response(status=500)
        except ApiError as error:
            return _refusal(error)
        return web.json_response({"ok": True, "result": result})

    async def _download(self, request: web.Request) -> web.StreamResponse:
        if request.match_info["token"] != self.token:
            return _refusal(ApiError(401, "Unauthorized"))
        path = request.match_info["path"]
        for file in self.world.files.values():
            if file.path == path:
                return web.Response(body=file.data)
        return _refusal(ApiError(404, "Not Found"))


def _refusal(error: ApiError) -> web.Response:
    if error.words == "page":
        return web.Response(status=502, text="<html><h1>Bad Gateway</h1></html>",
                            content_type="text/html")  # fmt: skip
    body: dict[str, Any] = {"ok": False, "error_code": error.code, "description": error.words}
    if error.parameters:
        body["parameters"] = error.parameters
    return web.json_response(body, status=error.code)


async def _given(request: web.Request) -> tuple[dict[str, Any], dict[str, tuple[str, bytes]]]:
    given: dict[str, Any] = dict(request.query)
    files: dict[str, tuple[str, bytes]] = {}
    if request.content_type == "application/json":
        given.update(await request.json())
    elif request.content_type == "multipart/form-data":
        async for part in await request.multipart():
            if part.filename is not None:
                files[part.name] = (part.filename, bytes(await part.read()))
            else:
                given[part.name] = await part.text()
    elif request.can_read_body:
        given.update(await request.post())
    return given, files
