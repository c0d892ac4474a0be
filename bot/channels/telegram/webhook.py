"""The webhook: updates come in over HTTP, behind a proxy that ends TLS.

Each is safe in the inbox before it is answered with 200; after any other answer the platform sends
it again. It sends the messages of a chat one by one, so their order is kept.
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
"""The most bytes in an update: real ones have a few thousand."""

READ_S = 10.0
LOOK_S = 60.0
HEADER = "X-Telegram-Bot-Api-Secret-Token"
PORTS = frozenset({None, 443, 80, 88, 8443})
"""The ports that the platform calls."""

Take = Callable[[list[dict[str, Any]]], None]


class BadHookError(Exception):
    """A webhook that cannot work; says what to set instead."""


@dataclass(frozen=True, slots=True)
class Hook:
    """The address for updates.

    Parameters
    ----------
    url
        The address the platform sends them to: the proxy's, with the path.
    port
        The port we listen on, on this machine only; 0 for any free port.
    """

    url: str
    port: int

    @property
    def path(self) -> str:
        """Return the path that we serve."""
        return urlsplit(self.url).path


def hook_of(url: str, port: str) -> Hook:
    """Return the webhook that two settings describe.

    Raises
    ------
    BadHookError
        If the platform does not call such an address, or the port is invalid.

    Examples
    --------
    >>> hook_of("https://tow.example/rollproof", "8081").path
    '/rollproof'
    """
    texts = air_texts()["start"]
    if not _is_called(url):
        raise BadHookError(texts["bad_webhook"].format(url=url))
    if not _is_port(port):
        raise BadHookError(texts["bad_port"].format(port=port))
    return Hook(url, int(port))


def _is_called(url: str) -> bool:
    """Say whether the platform calls an address: https, a port it calls, a path and no more."""
    try:
        found = urlsplit(url)
        is_reached = found.scheme == "https" and bool(found.hostname) and found.port in PORTS
    except ValueError:
        return False
    return is_reached and len(found.path) > 1 and not (found.query or found.fragment)


def _is_port(text: str) -> bool:
    return text.isascii() and text.isdecimal() and 0 < int(text) < 65_536


def secret_of(key: bytes) -> str:
    """Return the secret by which the platform identifies itself: the same after every start."""
    return hmac.new(key, b"webhook", hashlib.sha256).hexdigest()


class Webhook:
    """Takes the updates that the platform sends, and checks that it still sends them here.

    Parameters
    ----------
    api
        The platform.
    hook
        The address for updates.
    secret
        Each call must show it.
    take
        Makes a raw update safe.
    contact
        Is told whether the platform answered or called.
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
        """Listen, before the platform is told the address.

        Raises
        ------
        BadHookError
            If another program has the port.
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
        """Stop listening; the platform keeps further updates for the next start."""
        if self._runner is not None:
            await self._runner.cleanup()

    async def run(self) -> None:
        """Tell the platform the address, and keep checking until cancelled; no failure ends it."""
        while True:
            await asyncio.sleep(await self.once())

    async def once(self) -> float:
        """Check once; return how long to wait before the next check [s]."""
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
    """Return the update in the body of a call; None for anything else."""
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    is_one = isinstance(found, dict) and isinstance(found.get("update_id"), int)
    return found if is_one else None
