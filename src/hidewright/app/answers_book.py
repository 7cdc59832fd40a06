"""What the process that learns answers: what readings say, and what follows for a design."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from hidewright.app.asked import Progress
from hidewright.app.asked_book import BookAsked, Effects, Learnt, Pieces, PiecesAsked
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_rates import rates_in
from hidewright.store.book_workshop import workshop_of
from hidewright.store.write_pack import zip_bytes
from hidewright.workshop.bench_pieces import bench_files
from hidewright.workshop.book_learned import Pressings, known_rows, read_book, shelf_in
from hidewright.workshop.graph import Cache
from hidewright.workshop.learned_effect import effect_on


@dataclass(slots=True)
class Learner:
    """Keeps solved sheets and what designs came to."""

    pressings: Pressings = field(default_factory=Pressings)
    cache: Cache = field(default_factory=Cache)

    def answer(
        self, asked: BookAsked | PiecesAsked, progress: Progress
    ) -> Iterator[Learnt | Effects | Pieces]:
        """Yield what is known, and then what follows for a design; or test pieces."""
        with Book(asked.path, new=False) as book:
            read = read_book(book)
            money, shop = rates_in(book), workshop_of(book)
            if isinstance(asked, BookAsked):
                learned = shelf_in(book, self.pressings, progress)
        if isinstance(asked, PiecesAsked):
            shelf = built_in_catalogue()
            rows = known_rows(shelf, read.designs)
            board = find(rows.boards, asked.board)
            files = bench_files(board, find(rows.leathers, asked.leather))
            yield Pieces(zip=zip_bytes(files), names=tuple(files))
            return
        yield Learnt(shelf=learned)
        if asked.design:
            spec = read.designs.get(asked.design)
            if spec is None:
                raise RequestError("this design is not in the book any more")
            effect = effect_on(
                spec,
                learned,
                self.pressings,
                money.rates,
                money.prices,
                shop.bench_of(asked.design),
                self.cache,
                progress,
            )
            yield Effects(effect=effect)


def book() -> Callable[[BookAsked | PiecesAsked, Progress], Iterator[Learnt | Effects | Pieces]]:
    """Return what answers."""
    return Learner().answer
