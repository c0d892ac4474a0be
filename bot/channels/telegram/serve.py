"""Serving from a terminal or a service manager: the greeting, the owner's link, the stop."""

import asyncio
import io
import logging
import signal
from collections.abc import Callable

from telegram.error import InvalidToken, TelegramError

from bot.channels.telegram.ending import last_resort
from bot.channels.telegram.pacing import Pace
from bot.channels.telegram.service import Service
from bot.channels.telegram.transport import Api
from bot.channels.telegram.webhook import Hook
from bot.desk.company import Company
from flows.texts import air_texts

LOG = logging.getLogger(__name__)
AGAIN_S = 5.0

Show = Callable[[str], None]


class BadTokenError(Exception):
    """The platform does not know the token."""


async def serve(
    company: Company, api: Api, show: Show, pace: Pace | None = None, hook: Hook | None = None
) -> None:
    """Serve until told to stop by the system; stopping takes at most five seconds.

    If something hangs that cannot be told to stop, the process ends without it a little later.

    Parameters
    ----------
    company
        The company whose bot it is.
    api
        The platform.
    show
        Shows a line to whoever started it.
    pace, hook
        As for `Service`.

    Raises
    ------
    BadTokenError
        If the platform does not know the token.
    BadHookError
        If another program has the webhook's port.
    SecondProgramError
        If another program serves the same bot.
    """
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()

    def told_to_stop() -> None:
        last_resort()
        stop.set()

    for sign in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(sign, told_to_stop)
    await api.open()
    try:
        service = Service(company, api, pace, hook)
        greeting = asyncio.create_task(_greet(service, api, show))
        serving = asyncio.create_task(service.run(stop))
        done, _ = await asyncio.wait({greeting, serving}, return_when=asyncio.FIRST_COMPLETED)
        if greeting in done and greeting.exception() is not None:
            stop.set()
        try:
            await serving
        finally:
            greeting.cancel()
        await asyncio.gather(greeting, return_exceptions=True)
        if not greeting.cancelled() and (error := greeting.exception()) is not None:
            raise error
    finally:
        await api.close()


async def _greet(service: Service, api: Api, show: Show) -> None:
    """Learn the bot's name, however long the platform is away; then show the next step."""
    texts = air_texts()["start"]
    while True:
        try:
            me = await api.raw("getMe")
            if service.webhook is None:
                await api.raw("deleteWebhook")
        except InvalidToken as error:
            raise BadTokenError(texts["bad_token"]) from error
        except TelegramError as error:
            LOG.warning("the platform is not reached at the start: %s", type(error).__name__)
            await asyncio.sleep(AGAIN_S)
            continue
        service.name(str(me["username"]))
        show(texts["serving"].format(name=me["username"]))
        link = service.owner_link()
        show(texts["ready"] if link is None else texts["owner"].format(link=link, code=qr(link)))
        return


async def who_we_are(api: Api) -> str | None:
    """Ask the platform once for the bot's name; return None if it is not reached."""
    await api.open()
    try:
        return str((await api.raw("getMe"))["username"])
    except TelegramError:
        return None
    finally:
        await api.close()


def qr(link: str) -> str:
    """Return a link as a QR code of characters, for a terminal."""
    import segno  # noqa: PLC0415  only when there is no owner yet

    out = io.StringIO()
    segno.make(link, error="l").terminal(out, compact=True)
    return out.getvalue()
