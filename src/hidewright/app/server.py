"""The server: one app on this machine, its addresses and how it starts and stops."""

import asyncio
import gc
import inspect
import io
import mimetypes
import zipfile
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from nicegui import app, ui
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from hidewright.app.asked_photo import MOST_BYTES as PHOTO_BYTES
from hidewright.app.asked_photo import TO as TO_PHOTO
from hidewright.app.components.sheet import STYLE
from hidewright.app.guard import Guard
from hidewright.app.pages.stages import stage_named
from hidewright.app.parts import Words, box, frame, link
from hidewright.app.shop import Shop
from hidewright.drawing.reading import MAX_BYTES
from hidewright.errors import RequestError

PORT = 8377
#: A page may take so long to be built on a busy machine before it is given up, s.
PATIENCE_S = 60.0
#: Served to this machine alone.
HOST = "127.0.0.1"
LOOK = Path(__file__).with_name("look.css")
SIGN = Path(__file__).with_name("sign.svg")


#: What is built at each address; its code is loaded beside the event loop, when it is first asked
#: for or soon after the start, so that the first page need not wait for all the others.
PAGES = {
    "/": "designs:DesignsPage",
    "/start": "start:StartPage",
    "/bring": "bring:BringPage",
    "/cutting": "cutting:CuttingPage",
    "/cutting/photo": "photo:PhotoPage",
    "/batch": "batch:BatchPage",
    "/money": "money:MoneyPage",
    "/book": "book:BookPage",
    "/words": "words:WordsPage",
}
HIDE_PAGE = "hide:HidePage"
#: What is built for a design: at the stages that show pictures, and at the others by their names.
STAGE_PAGES = {
    "design": "design:DesignPage",
    "money": "money_of_design:MoneyOfDesignPage",
    "papers": "papers:PapersPage",
}
#: The other pages are loaded so long after the start, s.
SOON_S = 1.5


def now() -> str:
    """Return the time now, ISO 8601 with its offset from UTC."""
    return datetime.now().astimezone().isoformat(timespec="seconds")  # noqa: TID251


def build(book: Path | None = None, *, demo: bool = True) -> Shop:
    """Register all pages and addresses of the app; return what they share.

    Args:
        book: The workshop's book; the user's own without it.
        demo: Whether a new book begins with the demo workshop's articles.

    Raises:
        RequestError: When the book cannot be opened.
    """
    shop = Shop(book, now)
    app.add_middleware(Guard)
    ui.add_css(LOOK, shared=True)
    ui.add_css(STYLE, shared=True)

    if demo:
        shop.begin_with_the_demo()
    app.on_startup(shop.start)
    app.on_startup(_load_soon)
    app.on_shutdown(shop.stop)

    for address, page in PAGES.items():
        _serve(shop, address, page)

    @ui.page("/design/{id}/{stage}", response_timeout=PATIENCE_S)
    async def design(id: str, stage: str) -> None:
        shows = stage_named(stage)
        module = STAGE_PAGES["design" if shows else stage] if shows or stage in STAGE_PAGES else ""
        if not module:
            _not_there(shop, f"A design has no page {stage!r}.")
            return
        page = await _loaded(module)
        try:
            desk = await shop.desk(id)
        except RequestError as refused:
            _not_there(shop, refused.sentence)
            return
        page(shop, desk, shows) if shows else page(shop, desk)

    @ui.page("/cutting/hide/{id}", response_timeout=PATIENCE_S)
    async def hide(id: str) -> None:
        page = await _loaded(HIDE_PAGE)
        try:
            await page(shop, id).build()
        except RequestError as refused:
            _not_there(shop, refused.sentence)

    @app.post("/bring")
    async def brought(request: Request) -> Response:
        return await _taken(shop, request, MAX_BYTES)

    @app.post(TO_PHOTO)
    async def brought_photo(request: Request) -> Response:
        return await _taken(shop, request, PHOTO_BYTES)

    @app.get("/held/{name}")
    async def held(name: str) -> Response:
        found = shop.held(name)
        if found is None:
            return Response("It is not kept any more: make it again.", 404)
        data, sort = found
        if "/" not in sort:
            return Response("Not to be fetched.", 404)
        headers = {"cache-control": "private, max-age=3600, immutable"}
        return Response(data, media_type=sort, headers=headers)

    @app.get("/pack/{name}/{path:path}")
    def packed(name: str, path: str) -> Response:
        found = shop.held(name)
        if found is None or found[1] != "application/zip":
            return Response("The pack is not kept any more: make it again.", 404)
        with zipfile.ZipFile(io.BytesIO(found[0])) as pack:
            if path not in pack.namelist():
                return Response("The pack has no such file.", 404)
            sort = mimetypes.guess_type(path)[0] or "application/octet-stream"
            return Response(pack.read(path), media_type=sort)

    return shop


def run(book: Path | None = None, *, port: int = PORT, show: bool = True) -> None:
    """Serve the app until it is stopped.

    Raises:
        RequestError: When the book cannot be opened.
    """
    build(book)
    ui.run(
        host=HOST,
        port=port,
        title="hidewright",
        language="en-US",
        favicon=SIGN,
        show=show,
        reload=False,
        binding_refresh_interval=None,
        reconnect_timeout=30.0,
        tailwind=False,
        show_welcome_message=False,
        gzip_middleware_factory=None,  # packing costs more than it saves on one machine
    )


def _serve(shop: Shop, address: str, page: str) -> None:
    @ui.page(address, response_timeout=PATIENCE_S)
    async def built() -> None:
        building = (await _loaded(page))(shop).build()
        if inspect.isawaitable(building):
            await building


async def _loaded(page: str) -> Any:
    """Return a page's class, loaded beside the event loop when it is not yet."""
    module, _, name = page.partition(":")
    whole = f"hidewright.app.pages.{module}"
    return getattr(await asyncio.to_thread(import_module, whole), name)


async def _load_soon() -> None:
    await asyncio.sleep(SOON_S)
    for page in (*STAGE_PAGES.values(), *PAGES.values(), HIDE_PAGE):
        await _loaded(page)
    # from here on garbage is searched for, but not in what was loaded: that would take 0.1 s
    gc.freeze()
    gc.enable()


async def _taken(shop: Shop, request: Request, largest: int) -> Response:
    """Hold a file that a page sends, and tell under which name."""
    data = bytearray()
    async for part in request.stream():
        data += part
        if len(data) > largest:
            trouble = f"The file is larger than {largest // 1_000_000} MB."
            return JSONResponse({"trouble": trouble}, status_code=413)
    name = Path(unquote(request.headers.get("x-file-name", "file"))).name[:120]
    return JSONResponse({"token": shop.hold(bytes(data), name)})


def _not_there(shop: Shop, why: str) -> None:
    with frame(shop, "Not there"), box("section", "hero"):
        Words("h1", "This is not there")
        Words("p", why)
        with box("p", "actions"):
            link("To the designs", "/", "button main")
