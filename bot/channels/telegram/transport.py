"""The way to the platform: the library's requests over one light HTTP session.

The library's own transport takes three to six times the CPU time per call. No error here contains
a URL: it has the token in it.
"""

import asyncio
import io
import json
import warnings
from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from aiohttp import (
    ClientConnectionError,
    ClientConnectorError,
    ClientError,
    ClientSession,
    ClientTimeout,
    FormData,
    TCPConnector,
)
from telegram import Bot
from telegram.error import NetworkError, RetryAfter, TimedOut
from telegram.request import BaseRequest, RequestData
from typing_extensions import override

PLATFORM = "https://api.telegram.org"
CALL_S = 20.0
CONNECT_S = 10.0
CONNECTIONS = 512
"""As many calls at once as its own rate for all chats lets begin while one of them hangs."""

FORM = {"Content-Type": "application/x-www-form-urlencoded"}


class NotSentError(NetworkError):
    """The call never reached the platform, so it had no effect."""


def seconds_to_wait(error: RetryAfter) -> float:
    """Return how long the platform asks to wait [s].

    The library is changing the type of this field and warns its readers: both types work here.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = error.retry_after
    return float(found) if isinstance(found, int | float) else found.total_seconds()


class LightRequest(BaseRequest):
    """The library's requests, carried by aiohttp."""

    def __init__(self, connections: int = CONNECTIONS) -> None:
        self._connections = connections
        self._session: ClientSession | None = None

    @property
    @override
    def read_timeout(self) -> float:
        return CALL_S

    @override
    async def initialize(self) -> None:
        if self._session is None:
            self._session = ClientSession(
                connector=TCPConnector(limit=self._connections),
                timeout=ClientTimeout(total=None, sock_connect=CONNECT_S),
            )

    @override
    async def shutdown(self) -> None:
        if self._session is not None:
            await self._session.close()
            self._session = None

    @override
    async def do_request(
        self,
        url: str,
        method: str,
        request_data: RequestData | None = None,
        read_timeout: Any = None,
        write_timeout: Any = None,
        connect_timeout: Any = None,
        pool_timeout: Any = None,
    ) -> tuple[int, bytes]:
        patience = read_timeout if isinstance(read_timeout, int | float) else CALL_S
        try:
            async with asyncio.timeout(patience) as limit:
                form = _body(request_data, _Moves(limit, patience))
                headers = FORM if isinstance(request_data, _Fields) else None
                async with self._open.request(method, url, data=form, headers=headers) as answer:
                    return answer.status, await answer.read()
        except TimeoutError:
            raise TimedOut from None
        except ClientConnectorError as error:
            raise NotSentError(f"no connection: {type(error).__name__}") from None
        except (ClientError, ClientConnectionError) as error:
            raise NetworkError(f"the connection broke: {type(error).__name__}") from None

    async def download(self, url: str, most: int) -> bytes:
        """Return the file at an address of the platform, of at most so many bytes.

        Raises
        ------
        NetworkError
            If it does not come, or is larger.
        """
        try:
            async with (
                asyncio.timeout(CALL_S * 3),
                self._open.get(url, allow_redirects=False) as answer,
            ):
                if answer.status != 200:
                    raise NetworkError(f"the file did not come: {answer.status}")
                found = await answer.content.read(most + 1)
                while len(found) <= most and (chunk := await answer.content.read(most + 1)):
                    found += chunk
        except TimeoutError:
            raise TimedOut from None
        except ClientError as error:
            raise NetworkError(f"the connection broke: {type(error).__name__}") from None
        if len(found) > most:
            raise NetworkError(f"the file is larger than {most} bytes")
        return found

    @property
    def _open(self) -> ClientSession:
        if self._session is None:
            raise RuntimeError("the transport is closed; initialize it first")
        return self._session


class _Moves:
    """Puts the end of a call off as long as its file moves: a slow line is no failure."""

    def __init__(self, limit: asyncio.Timeout, patience: float) -> None:
        self._limit = limit
        self._patience = patience

    def __call__(self) -> None:
        self._limit.reschedule(asyncio.get_running_loop().time() + self._patience)


class _Upload(io.BytesIO):
    """A file on its way up: tells that it moves whenever a piece of it is taken."""

    def __init__(self, content: bytes, moves: Callable[[], None]) -> None:
        super().__init__(content)
        self._moves = moves

    @override
    def read(self, size: int | None = -1, /) -> bytes:
        self._moves()
        return super().read(size)


class _Fields(RequestData):
    """The fields of a raw call, ready to send: the library's own way costs several times that."""

    __slots__ = ("body",)

    def __init__(self, given: Mapping[str, Any]) -> None:
        super().__init__([])
        fields = {
            name: value if isinstance(value, str | int) else json.dumps(value)
            for name, value in given.items()
        }
        self.body = urlencode(fields).encode("ascii")


def _body(data: RequestData | None, moves: Callable[[], None]) -> FormData | bytes | None:
    if data is None:
        return None
    if isinstance(data, _Fields):
        return data.body
    form = FormData()
    for name, value in data.json_parameters.items():
        form.add_field(name, value)
    if data.contains_files:
        for name, (filename, content, kind) in data.multipart_data.items():
            upload = _Upload(content, moves) if isinstance(content, bytes) else content
            form.add_field(name, upload, filename=filename, content_type=kind)
    return form


class Api:
    """One bot at the platform: the library's methods, and raw calls if those hide too much.

    Parameters
    ----------
    token
        The bot's token; never logged.
    platform
        The platform's address.
    """

    def __init__(self, token: str, platform: str = PLATFORM) -> None:
        self._request = LightRequest()
        self._calls = f"{platform}/bot{token}"
        self._files = f"{platform}/file/bot{token}"
        self.bot = Bot(
            token,
            base_url=f"{platform}/bot",
            base_file_url=f"{platform}/file/bot",
            request=self._request,
            get_updates_request=self._request,
        )

    async def open(self) -> None:
        """Open the session, without a call to the platform."""
        await self._request.initialize()

    async def close(self) -> None:
        """Close the session."""
        await self._request.shutdown()

    async def raw(self, method: str, *, patience: float = CALL_S, **given: Any) -> Any:  # noqa: ANN401  any JSON comes back
        """Call a method and return its raw result.

        Raises
        ------
        telegram.error.TelegramError
            As the library raises them.
        """
        url = f"{self._calls}/{method}"
        return await self._request.post(url, _Fields(given), read_timeout=patience)

    async def file(self, path: str, most: int) -> bytes:
        """Return a file of the platform by the path it gave."""
        return await self._request.download(f"{self._files}/{path}", most)
