"""The server: one app on this machine, its addresses and how it starts and stops."""

import io
import mimetypes
import zipfile
from datetime import datetime
from pathlib import Path
from urllib.parse import unquote

from nicegui import app, ui
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from hidewright.app.components.sheet import STYLE
from hidewright.app.guard import Guard
from hidewright.app.pages.batch import BatchPage
from hidewright.app.pages.book import BookPage
from hidewright.app.pages.bring import BringPage
from hidewright.app.pages.cutting import CuttingPage
from hidewright.app.pages.design import DesignPage
from hidewright.app.pages.designs import DesignsPage
from hidewright.app.pages.hide import HidePage
from hidewright.app.pages.money import MoneyPage
from hidewright.app.pages.money_of_design import MoneyOfDesignPage
from hidewright.app.pages.papers import PapersPage
from hidewright.app.pages.photo import MOST_BYTES as PHOTO_BYTES
from hidewright.app.pages.photo import TO as TO_PHOTO
from hidewright.app.pages.photo import PhotoPage
from hidewright.app.pages.stages import stage_named
from hidewright.app.pages.start import StartPage
from hidewright.app.pages.words import words_page
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
    app.on_shutdown(shop.stop)

    @ui.page("/", response_timeout=PATIENCE_S)
    async def designs() -> None:
        await DesignsPage(shop).build()

    @ui.page("/start", response_timeout=PATIENCE_S)
    def begin() -> None:
        StartPage(shop).build()

    @ui.page("/bring", response_timeout=PATIENCE_S)
    def bring() -> None:
        BringPage(shop).build()

    @ui.page("/money", response_timeout=PATIENCE_S)
    async def money() -> None:
        await MoneyPage(shop).build()

    @ui.page("/batch", response_timeout=PATIENCE_S)
    async def batch() -> None:
        await BatchPage(shop).build()

    @ui.page("/book", response_timeout=PATIENCE_S)
    async def the_book() -> None:
        await BookPage(shop).build()

    @ui.page("/words", response_timeout=PATIENCE_S)
    def words() -> None:
        words_page(shop)

    @ui.page("/design/{id}/{stage}", response_timeout=PATIENCE_S)
    async def design(id: str, stage: str) -> None:
        shows = stage_named(stage)
        try:
            desk = await shop.desk(id)
        except RequestError as refused:
            _not_there(shop, str(refused))
            return
        if shows is not None:
            DesignPage(shop, desk, shows)
        elif stage == "money":
            MoneyOfDesignPage(shop, desk)
        elif stage == "papers":
            PapersPage(shop, desk)
        else:
            _not_there(shop, f"A design has no page {stage!r}.")

    @app.post("/bring")
    async def brought(request: Request) -> Response:
        return await _taken(shop, request, MAX_BYTES)

    @ui.page("/cutting", response_timeout=PATIENCE_S)
    async def cutting() -> None:
        await CuttingPage(shop).build()

    @ui.page("/cutting/hide/{id}", response_timeout=PATIENCE_S)
    async def hide(id: str) -> None:
        try:
            await HidePage(shop, id).build()
        except RequestError as refused:
            _not_there(shop, str(refused))

    @ui.page("/cutting/photo", response_timeout=PATIENCE_S)
    def photo() -> None:
        PhotoPage(shop).build()

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
