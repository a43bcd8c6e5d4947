"""The screens and their addresses: reads a request, has a view worked out, and puts it into its template."""

from __future__ import annotations

import asyncio
import threading
from functools import lru_cache, partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import jinja2
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from advisor.ground.errors import InputError
from advisor.page.guard import Guard, Refused, Secrets, fault, refusal
from advisor.page.labels import css, in_labels
from advisor.page.made import File, Move, Screen

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.types import Receive, Scope, Send

    from advisor.page.made import Made
    from advisor.page.state import State

    View = Callable[..., Made]  # what an address says, by name -> what is made of it

HERE = Path(__file__).parent
KINDS = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}
AT_ONCE = 2  # screens that are worked out at the same time: the machine has not more to give
SLOW = (
    "/list/read",
    "/list/priced.csv",
    "/list/quote.xlsx",
    "/list/quote.pdf",
)  # wait for a process of their own
WARM = 0.3  # seconds after the first screen in which the machine is left to the browser


@lru_cache(maxsize=1)
def _templates() -> jinja2.Environment:
    loader = jinja2.FileSystemLoader(HERE / "templates")
    made = jinja2.Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True, auto_reload=False)
    made.undefined = jinja2.StrictUndefined
    made.filters |= {"css": css, "in_labels": in_labels}
    return made


class Page:
    """The whole page. records: file of records, None for the usual one; hosts: names that a request may use; token: that
    another machine needs."""

    def __init__(self, *, hosts: Iterable[str], records: str | None = None, token: str | None = None) -> None:
        self.secrets = Secrets(token)
        self.records_file = records
        self.warm = False
        self._places, self._lists = threading.Semaphore(AT_ONCE), threading.Semaphore(1)
        routes = [
            Route("/", self._first, methods=["GET"]),
            Route("/static/{name}", self._static, methods=["GET"]),
            *(Route(path, partial(self._screen, view), methods=methods) for path, view, methods in _views()),
        ]
        wrong = {Refused: self._refused, HTTPException: self._not_there, Exception: self._fault}
        inside = Starlette(routes=routes, exception_handlers=wrong)
        self.app = Guard(inside, hosts=hosts, secrets=self.secrets, files=("/list",))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await self.app(scope, receive, send)

    # ---- what needs nothing of the program

    async def _first(self, request: Request) -> Response:
        made = self._filled("first.html", place="first")
        if not self.warm:
            self.warm = True
            asyncio.get_running_loop().call_later(WARM, threading.Thread(target=_warm_up, daemon=True).start)
        return made

    async def _static(self, request: Request) -> Response:
        found = _static_files().get(request.path_params["name"])
        if found is None:
            return await self._not_there(request, None)
        data, kind = found
        return Response(data, media_type=kind, headers={"cache-control": "public, max-age=600"})

    async def _not_there(self, request: Request, problem: HTTPException | None) -> Response:
        told = {
            404: ("address", request.url.path[:80], "is not on this page", "Begin at the first page."),
            405: ("method", request.method, "is not answered at this address", "Open it as a page."),
        }
        status = problem.status_code if problem else 404
        parts = told.get(status, ("request", "", "cannot be read", "Send it anew from its screen."))
        return await self._refused(request, Refused(status, *parts))

    async def _refused(self, request: Request, no: Refused) -> Response:
        return HTMLResponse(refusal(no), status_code=no.status, headers={"connection": "close"})

    async def _fault(self, request: Request, problem: Exception) -> Response:
        return await self._refused(request, fault(problem))

    # ---- screens

    async def _screen(self, view: View, request: Request) -> Response:
        form = None
        if request.method == "POST":
            form = await request.form(max_files=1, max_fields=300, max_part_size=60_000)
            if not self.secrets.believed(form.get("sure")):
                fix = "Go back, open the screen anew and send it again. Nothing was changed."
                raise Refused(403, "form", "", "is from before the server was started again, or of no screen", fix)
        try:
            made = await run_in_threadpool(self._in_turn, view, request, form)
        finally:
            if form is not None:
                await form.close()
        if isinstance(made, Move):
            return RedirectResponse(made.address, status_code=303)
        if isinstance(made, File):
            headers = {"content-disposition": f'attachment; filename="{made.name}"'} if made.name else {}
            if made.keep:
                headers["cache-control"] = "private, max-age=3600"
            return Response(made.data, media_type=made.kind, headers=headers)
        return made

    def _in_turn(self, view: View, request: Request, form: FormData | None) -> Response | Move | File:
        with self._lists if request.url.path in SLOW else self._places:
            return self._worked_out(view, request, form)

    def _worked_out(self, view: View, request: Request, form: FormData | None) -> Response | Move | File:
        """What a view makes, filled in. Runs beside the server."""
        from advisor.page import state as states

        records = states.Records(self.records_file)
        pairs = request.query_params.multi_items()
        if form is not None:
            pairs = [(name, value) for name, value in form.multi_items() if isinstance(value, str) and name != "sure"]
        now = None
        try:
            now = states.state_of(pairs)
            made = view(now, records=records, request=request, form=form)
        except InputError as problem:
            made = put_right(problem, now, request)
        if isinstance(made, Screen):
            return self._filled(made.template, made.status, **made.values)
        return made

    def _filled(self, template: str, status: int = 200, **values: Any) -> Response:
        from advisor.page.words_in import Words

        values = {"place": "", "same": "", "sure": self.secrets.form, "words": Words(), **values}
        return HTMLResponse(_templates().get_template(template).render(values), status_code=status)


def put_right(problem: InputError, state: State | None, request: Request) -> Screen:
    """A screen on which what was wrong is written anew."""
    asked = {}
    known = {**state.fields, **state.flow, **state.more} if state else {}
    errors = []
    for one in problem.each:
        name = str(one.field).lstrip("-").replace("-", "_").replace(" ", "_")
        errors.append(one)
        if state is not None and (name in known or name in _fields()) and request.method == "GET":
            asked[name] = known.get(name, "")
    hidden = [(name, value) for name, value in known.items() if name not in asked]
    here = request.url.path
    return Screen("put_right.html", 400, errors=errors, asked=asked, hidden=hidden, here=here, place="lathe")


def _fields() -> Collection[str]:
    from advisor.asked.callout import KEYS

    return KEYS


@lru_cache(maxsize=1)
def _static_files() -> dict[str, tuple[bytes, str]]:
    """Name -> (bytes, kind) of our own style sheet and script."""
    return {
        path.name: (path.read_bytes(), KINDS[path.suffix[1:]]) for path in (HERE / "static").iterdir() if path.is_file()
    }


def _views() -> list[tuple[str, View, list[str]]]:
    """Every screen that is worked out: (path, view, methods). The views are read when they are first asked for."""
    return [(path, _later(module, name), methods) for path, (module, name, methods) in VIEWS.items()]


GET, POST, BOTH = ["GET"], ["POST"], ["GET", "POST"]
VIEWS = {
    "/lathe": ("lathe", "callout", GET),
    "/lathe/where": ("lathe", "where", GET),
    "/lathe/size": ("lathe", "size", GET),
    "/lathe/ask": ("lathe", "ask", GET),
    "/lathe/answer": ("lathe", "answer", GET),
    "/lathe/why": ("lathe", "why", GET),
    "/lathe/keep": ("lathe", "keep", POST),
    "/lathe/job": ("lathe", "find", GET),
    "/lathe/do": ("bench", "do", GET),
    "/lathe/first": ("bench", "first", GET),
    "/lathe/done": ("bench", "done", BOTH),
    "/lathe/recorded": ("bench", "recorded", GET),
    "/lathe/sheet.pdf": ("lathe", "sheet", GET),
    "/list": ("estimator", "lists", BOTH),
    "/list/read": ("estimator", "read", GET),
    "/list/job": ("estimator", "job", GET),
    "/list/priced.csv": ("estimator", "given", GET),
    "/list/quote.xlsx": ("estimator", "given", GET),
    "/list/quote.pdf": ("estimator", "given", GET),
    "/learn": ("learning", "learn", GET),
    "/learn/choose": ("learning", "choose", BOTH),
    "/learn/wrong": ("learning", "wrong", GET),
    "/learn/map": ("where_each_wins", "screen", GET),
    "/word": ("learning", "word", GET),
    "/word/{word}": ("learning", "word", GET),
    "/shop": ("shops", "shop", GET),
    "/shop/new": ("shops", "new", BOTH),
    "/shop/use": ("shops", "use", BOTH),
    "/shop/measure": ("shops", "measure", GET),
    "/drawing/map.svg": ("where_each_wins", "picture", GET),
    "/drawing/wrong.svg": ("learning", "wrong_picture", GET),
    "/drawing/measure.svg": ("shops", "measure_picture", GET),
    "/drawing/shape/{shape}.svg": ("drawings", "shape", GET),
    "/drawing/work.svg": ("drawings", "work", GET),
    "/drawing/setup.svg": ("drawings", "setup", GET),
    "/methods.css": ("drawings", "methods", GET),
}


def _later(module: str, name: str) -> View:
    def view(*args: Any, **more: Any) -> Made:
        return getattr(import_module(f"advisor.page.{module}"), name)(*args, **more)

    return view


def _warm_up() -> None:
    """Have read what the next screens need, while somebody reads the first."""
    for name in ("lathe", "drawings"):
        import_module(f"advisor.page.{name}").ready()
