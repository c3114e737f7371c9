"""Somebody who asks a service everything once: every call as it should be, and spoilt in each way that there is.

Before a call succeeds it is spoilt in every way that its declaration speaks of: without a key, with the wrong one, with
a body that is no JSON, with a code that nobody has … None of these changes anything, so that the call itself finds what
it needs. What only a certain call can go wrong with is a line of its scene.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import orjson
from flask import Flask
from werkzeug.test import TestResponse

from examples.recording import Recording
from examples.spoiling import LARGEST_BODY, SITE, Call, spoilt
from quoter.api.http.problem_document import CONTENT_TYPE
from quoter.app import create_app
from quoter.config import Settings
from quoter.service.access.keys import Keyring
from quoter.service.access.limits import NANOSECONDS
from quoter.store.database import Store
from quoter.store.keys import Keys

RATES = Path(__file__).parents[1] / "rates"
NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
PUBLIC_ADDRESS = "https://quotes.example.org"
JSON_TYPES = ("application/json", CONTENT_TYPE)


class Asking:
    """A service with the demo books that is asked, and what it answered is kept."""

    def __init__(self, folder: Path, kept: Recording) -> None:
        self.kept, self.database = kept, folder / "quoter.db"
        self.store = Store(self.database, wait_seconds=0.1)
        settings = Settings(
            books=(RATES / "ballyquarn", RATES / "peddrick-mills"),
            public_address=PUBLIC_ADDRESS,
            max_body_bytes=LARGEST_BODY,
        )
        self.now, self.wrong_keys_a_minute = NOW, settings.wrong_keys_a_minute
        self.app: Flask = create_app(
            settings, store=self.store, now=lambda: self.now, ticks=self._ticks, resolve=_on_the_internet
        )
        keyring = Keyring(Keys(self.store), lambda: NOW)
        self.keys = {scope: keyring.new(f"{scope} key", scope)[0] for scope in ("owner", "desk")}
        self.keys["form"] = keyring.new("form key", "form", origins=[SITE])[0]
        for place, presented in enumerate(self.keys.values(), 1):
            kept.drawn_by_lot[presented.split("_")[1]] = f"{place:012x}"

    def wait(self, **time: float) -> None:
        """Lets some hours, minutes … go by."""
        self.now += dt.timedelta(**time)

    def _ticks(self) -> int:
        """The same clock, for what is limited."""
        return int(self.now.timestamp()) * NANOSECONDS

    def close(self) -> None:
        """The database is let go of."""
        self.store.close()

    def succeed(
        self, operation: str, *, keep: Iterable[str] = (), brief: bool = False, spoil: bool = True, **said: Any
    ) -> TestResponse:
        """A call as it should be, after it was spoilt in every way. Of its answer only `keep` is shown, if given.

        A `brief` example is for an answer of a kind that another operation shows in full.

        `said` are members of a `Call`; a body that is not said is the one that the operation is described with.
        """
        call = Call.of(operation, **said)
        for status, wrong in spoilt(call) if spoil else ():
            answer = self.send(wrong)
            if answer.status_code == status:
                self._keep_problem(operation, answer)
        answer = self.send(call)
        if answer.status_code not in call.declared.answers:
            raise ValueError(f"{operation} does not succeed: {answer.status} {answer.get_data(as_text=True)[:800]}")
        self.kept.keep_parameters(operation, call.parameters)
        self._keep_success(operation, answer, tuple(keep), brief)
        return answer

    def fail(self, operation: str, status: int, code: str, *, name: str = "", **said: Any) -> None:
        """A call that is refused with this problem; its example is named by the code, unless it has another `name`."""
        answer = self.send(Call.of(operation, **said))
        body = answer.get_json(force=True, silent=True) or {}
        if (answer.status_code, body.get("type")) != (status, f"/problems/{code}"):
            raise ValueError(f"{operation}: {answer.status} {answer.get_data(as_text=True)[:800]}, not {status} {code}")
        self._keep_problem(operation, answer, name)

    def send(self, call: Call) -> TestResponse:
        """The answer to a call, which is not kept."""
        headers = dict(call.headers)
        if call.key is not None:
            headers["Authorization"] = f"Bearer {self.keys.get(call.key, call.key)}"
        query = f"?{urlencode(call.query)}" if call.query else ""
        path = call.declared.path.format(**call.path) + query
        return self.app.test_client().open(path, method=call.declared.method, data=call.content, headers=headers)

    def _keep_success(self, operation: str, answer: TestResponse, keep: tuple[str, ...], brief: bool) -> None:
        body = _body(answer)
        if isinstance(body, Mapping) and keep:
            body = {name: body[name] for name in keep}
        if body is not None:
            kind = _kind(answer).rpartition("/")[2].partition("+")[0]
            name = operation if _kind(answer) == "application/json" else f"{operation}-{kind}"
            self.kept.keep(operation, answer.status_code, _kind(answer), body, name, brief=brief)

    def _keep_problem(self, operation: str, answer: TestResponse, name: str = "") -> None:
        body = orjson.loads(answer.get_data())
        kind = body["type"].rpartition("/")[2]
        name = name or (f"http-{answer.status_code}" if body["type"] == "about:blank" else kind)
        self.kept.keep(operation, answer.status_code, CONTENT_TYPE, body, name)


def _on_the_internet(name: str, _port: int) -> list[str]:
    """Where a name leads, for webhooks: no network is asked, and nothing is ever sent there."""
    is_number = name.replace(".", "").isdecimal()
    return [name if is_number else "203.0.114.7"]


def _body(answer: TestResponse) -> Any:
    """What can be shown: JSON and the beginning of a text; nothing of a file of bytes."""
    if answer.status_code == 204:
        return None
    if _kind(answer).endswith("json"):
        return orjson.loads(answer.get_data())
    if _kind(answer).startswith("text/") or _kind(answer).endswith("+xml"):
        return answer.get_data(as_text=True)
    return None


def _kind(answer: TestResponse) -> str:
    return answer.mimetype or ""
