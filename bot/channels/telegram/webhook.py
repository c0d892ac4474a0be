"""The webhook: updates come in over HTTP, behind a proxy that ends TLS.

Each is safe in the inbox before it is answered with 200; on any other answer the platform brings
it again. It brings one chat's messages one after another, so their order is kept.
"""

import asyncio
import hashlib
import hmac
import json
import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from aiohttp import web
from telegram.error import RetryAfter, TelegramError

from bot.channels.telegram.contact import FIRST_WAIT_S, Contact
from bot.channels.telegram.transport import Api, seconds_to_wait
from bot.channels.telegram.updates import WANTED
from bot.record.errors import StoreError
from flows.texts import air_texts

LOG = logging.getLogger(__name__)
LARGEST = 1 << 20
"""Bytes of an update, at most: the platform's are a few thousand."""

READ_S = 10.0
LOOK_S = 60.0
HEADER = "X-Telegram-Bot-Api-Secret-Token"
PORTS = frozenset({None, 443, 80, 88, 8443})
"""The ports that the platform calls."""

Take = Callable[[list[dict[str, Any]]], None]


class BadHookError(Exception):
    """A webhook that cannot be: says what to set instead."""


@dataclass(frozen=True, slots=True)
class Hook:
    """Where updates come in.

    Parameters
    ----------
    url
        Where the platform sends them: the proxy's address, with the path.
    port
        Where we listen, on this machine alone; 0 for any that is free.
    """

    url: str
    port: int

    @property
    def path(self) -> str:
        """Return the path that we listen at."""
        return urlsplit(self.url).path


def hook_of(url: str, port: str) -> Hook:
    """Return the webhook of two settings.

    Raises
    ------
    BadHookError
        If the address is not one that the platform calls, or the port is none.

    Examples
    --------
    >>> hook_of("https://tow.example/rollproof", "8081").path
    '/rollproof'
    """
    texts = air_texts()["start"]
    try:
        found = urlsplit(url)
        is_good = found.scheme == "https" and bool(found.hostname) and found.port in PORTS
    except ValueError:
        is_good, found = False, urlsplit("")
    if not is_good or len(found.path) < 2 or found.query or found.fragment:
        raise BadHookError(texts["bad_webhook"].format(url=url))
    if not (port.isascii() and port.isdecimal() and 0 < int(port) < 65_536):
        raise BadHookError(texts["bad_port"].format(port=port))
    return Hook(url, int(port))


def secret_of(key: bytes) -> str:
    """Return what the platform shows us it is with: the same after every start."""
    return hmac.new(key, b"webhook", hashlib.sha256).hexdigest()


class Webhook:
    """Takes what the platform brings, and looks whether it still brings it here.

    Parameters
    ----------
    api
        The platform.
    hook
        Where updates come in.
    secret
        What each call must show.
    take
        Makes a raw update safe.
    contact
        Is told when the platform was heard.
    """

    def __init__(self, api: Api, hook: Hook, secret: str, take: Take, contact: Contact) -> None:
        self._api = api
        self._hook = hook
        self._secret = secret.encode("ascii")
        self._take = take
        self._contact = contact
        self._is_set = False
        self._last_error = 0
        self._runner: web.AppRunner | None = None
        self.address = ""

    async def open(self) -> None:
        """Listen, before the platform is told where.

        Raises
        ------
        BadHookError
            When another program has the port.
        """
        app = web.Application(client_max_size=LARGEST)
        app.router.add_post(self._hook.path, self._called)
        runner = web.AppRunner(app, access_log=None, shutdown_timeout=1.0)
        await runner.setup()
        self._runner = runner
        try:
            await web.TCPSite(runner, "127.0.0.1", self._hook.port).start()
        except OSError as error:
            text = air_texts()["start"]["port_taken"]
            raise BadHookError(text.format(port=self._hook.port)) from error
        host, port = runner.addresses[0][:2]
        self.address = f"http://{host}:{port}{self._hook.path}"

    async def close(self) -> None:
        """Take no more; the platform keeps what comes, for the next start."""
        if self._runner is not None:
            await self._runner.cleanup()

    async def run(self) -> None:
        """Tell the platform where to bring updates, and look for ever; nothing ends it."""
        while True:
            await asyncio.sleep(await self.once())

    async def once(self) -> float:
        """Look once; return how long to wait before the next time [s]."""
        try:
            if not self._is_set:
                await self._api.raw(
                    "setWebhook", url=self._hook.url, secret_token=self._secret.decode("ascii"),
                    allowed_updates=WANTED,
                )  # fmt: skip
                self._is_set = True
            info = await self._api.raw("getWebhookInfo")
        except RetryAfter as error:
            return seconds_to_wait(error)
        except TelegramError as error:
            return self._contact.failed(error)
        except Exception as error:
            LOG.exception("looking at the webhook failed; it goes on")
            return self._contact.failed(error)
        self._contact.heard()
        self._contact.well()
        return self._looked(info)

    def _looked(self, info: dict[str, Any]) -> float:
        if info.get("url") != self._hook.url:
            LOG.error("another program took this bot's updates; stop the other one")
            self._is_set = False
            return FIRST_WAIT_S
        last_error = int(info.get("last_error_date") or 0)
        if last_error > self._last_error:
            self._last_error = last_error
            waiting = info.get("pending_update_count")
            LOG.warning("the platform could not bring updates here; %s wait", waiting)
        return LOOK_S

    async def _called(self, request: web.Request) -> web.Response:
        shown = request.headers.get(HEADER, "").encode("utf-8", "surrogateescape")
        if not hmac.compare_digest(shown, self._secret):
            LOG.warning("a call without the secret was refused")
            return web.Response(status=403)
        try:
            async with asyncio.timeout(READ_S):
                update = _update(await request.read())
        except TimeoutError:
            return web.Response(status=408)
        if update is None:
            LOG.error("a call with the secret brought no update")
            return web.Response(status=400)
        self._contact.heard()
        try:
            self._take([update])
        except StoreError:
            LOG.exception("an update is not safe; it comes again")
            return web.Response(status=503)
        return web.Response()


def _update(body: bytes) -> dict[str, Any] | None:
    """Return the update that a call brought; None for anything else."""
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    is_one = isinstance(found, dict) and isinstance(found.get("update_id"), int)
    return found if is_one else None
