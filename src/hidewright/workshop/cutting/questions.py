"""What a maker asks of hides: most sets, least leather, what to buy, what one more set takes."""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import combinations

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Layout
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of, rooms_of
from hidewright.nesting.cut import Answer, cut
from hidewright.nesting.problem import Problem
from hidewright.nesting.soundness import refuse_unsound_hide
from hidewright.nesting.worth import worth_m2
from hidewright.workshop.cutting.asked import CutAsked, articles_of_one
from hidewright.workshop.cutting.layout import layout_maker, problem_for

#: Rounds after which some hides are taken to be too few for a batch.
ATTEMPT = 300
#: Where so many hides to buy were too few, by what factor more beyond the least are tried, and for
#: how much longer.
MORE, LONGER = 4, 1.5
#: Rounds with which each of two batches is laid that differ by a set.
ONE_MORE = 1500
#: What can be filled is tried first: a share of the area that is not often exceeded.
DENSE = 0.86
#: Hides that are weighed against one another at most.
MOST_HIDES = 8
#: Hides that may have to be bought.
MOST_BOUGHT = 40
#: A layout that is not finished is shown no more often, s.
SHOWN_EVERY_S = 0.5


Rooms = tuple[tuple[float, tuple[float, ...]], ...]


@dataclass(slots=True)
class _Search:
    """A question while it is thought about: what is spent, whom to tell."""

    asked: CutAsked
    called_off: Callable[[], bool]
    say: Callable[[str], None]
    show: Callable[[CutLayout], None]
    spent: int = 0
    begun: float = 0.0
    shown: float = 0.0

    @property
    def left(self) -> int:
        return self.asked.rounds - self.spent

    def maker(
        self,
        problem: Problem,
        sets: int,
        hides: Sequence[tuple[str, StockHide]],
        bound: float | None = None,
    ) -> Callable[[Layout, float | None], CutLayout]:
        """Return what makes a layout of this search's placements."""

        def spent() -> tuple[int, float]:
            return self.spent, time.perf_counter() - self.begun

        return layout_maker(self.asked, problem, sets, hides, spent, bound)

    def cut(
        self,
        problem: Problem,
        *,
        at_most: int | None = None,
        order: Sequence[int] | None = None,
        enough: float | None = None,
        whole: Callable[[Layout, float], CutLayout] | None = None,
    ) -> Answer:
        """Search with what is left of the budget; ``whole`` makes of a layout what is shown."""
        rounds = self.left if at_most is None else min(self.left, at_most)

        better: list[tuple[Callable[[], Layout], float]] = []

        def found(layout: Callable[[], Layout], figure: float) -> None:
            better[:] = [(layout, figure)]

        def called_off() -> bool:
            if better and whole is not None and time.perf_counter() - self.shown > SHOWN_EVERY_S:
                layout, figure = better.pop()
                there = layout()
                if not faults_of(problem, there):
                    self.show(whole(there, figure))
                self.shown = time.perf_counter()
            return self.called_off()

        before = self.spent
        try:
            answer = cut(
                problem,
                rounds=max(rounds, 1),
                seed=self.asked.seed,
                called_off=called_off,
                progress=self.say,
                found=found,
                order=order,
                enough=enough,
            )
        except RequestError:
            self.spent = before + rounds
            raise
        self.spent = before + answer.rounds
        return answer


def answer_cut(
    asked: CutAsked,
    *,
    called_off: Callable[[], bool] = lambda: False,
    say: Callable[[str], None] = lambda _: None,
    show: Callable[[CutLayout], None] = lambda _: None,
) -> CutLayout:
    """Return the answer to a question.

    Args:
        asked: The question.
        called_off: Asked before each round: the best layout so far is kept when it is true.
        say: Told what is being done.
        show: Given better layouts, each accepted by the checker, as they are found.

    Raises:
        RequestError: When the request is at fault, or no layout was found.
    """
    for _, stock in asked.hides:
        refuse_unsound_hide(stock.hide)
    search = _Search(asked, called_off, say, show, begun=time.perf_counter())
    answers = {
        "most sets": _most_sets,
        "least leather": _least_leather,
        "fewest sheets": _what_to_buy,
        "what to buy": _what_to_buy,
        "one more set": _one_more,
    }
    return answers[asked.question](search)


# -- the questions ------------------------------------------------------------------------------


def _most_sets(search: _Search) -> CutLayout:
    asked = search.asked
    if len(asked.hides) > 1:
        raise RequestError(
            f"most sets from {len(asked.hides)} hides",
            mend="Choose one hide; for a batch from several ask for the least leather",
        )
    by = articles_of_one(asked.pieces)
    problem = problem_for(asked, "sets", by, asked.hides)
    whole = search.maker(problem, by, asked.hides, bound_of(problem) * by)
    answer = search.cut(problem, whole=lambda layout, sets: whole(layout, sets * by))
    return whole(answer.layout, answer.figure * by)


def _least_leather(search: _Search) -> CutLayout:
    return _least(search, search.asked.sets)


def _least(search: _Search, sets: int) -> CutLayout:
    """Return a layout of some sets on the hides that are missed least."""
    asked = search.asked
    if asked.fixed:
        return _on(search, sets, tuple(range(len(asked.hides))))
    refused: RequestError | None = None
    for chosen in _choices(search, sets):
        try:
            return _on(search, sets, chosen)
        except RequestError as no_room:
            if len(asked.hides) == 1:
                raise
            refused = no_room
            if search.called_off() or search.left < 1:
                raise RequestError(
                    f"no layout of {sets} sets on these {len(asked.hides)} hides was found so soon",
                    because=no_room.because or no_room.what,
                    mend="Let it search longer, add a hide, or ask for fewer sets",
                ) from None
    if refused is None:
        _refuse_homeless(search, sets)
    raise RequestError(
        f"{sets} sets do not lie on these {len(asked.hides)} hides",
        because=refused.because or str(refused) if refused else "they have too little area",
        mend="Add a hide, ask for fewer sets, or ask what you must buy",
    )


def _refuse_homeless(search: _Search, sets: int) -> None:
    """Refuse a piece that no hide has any place for, which area alone does not name."""
    try:
        search.cut(problem_for(search.asked, "hides", sets, search.asked.hides), at_most=1)
    except RequestError as refused:
        if "fits nowhere" in refused.what:
            raise


def _on(search: _Search, sets: int, chosen: tuple[int, ...]) -> CutLayout:
    """Return a layout on some hides, or refuse when an attempt of some rounds finds none."""
    hides = tuple(search.asked.hides[number] for number in chosen)
    problem = problem_for(
        search.asked, "hides", sets, hides, _on_chosen(search.asked.fixed, chosen)
    )
    whole = search.maker(problem, sets, hides)
    return whole(_laid(search, problem, lambda layout, _: whole(layout, None)), None)


def _laid(search: _Search, problem: Problem, whole: Callable[[Layout, float], CutLayout]) -> Layout:
    """Return where all pieces lie: hides filled in their order, the last one from one end.

    Raises:
        RequestError: When an attempt of some rounds finds no room for all.
    """
    layout = _attempted(search, problem, whole, ATTEMPT, len(problem.hides))
    return _shortened(search, problem, layout, whole)


def _attempted(
    search: _Search,
    problem: Problem,
    whole: Callable[[Layout, float], CutLayout],
    rounds: int,
    enough: int,
) -> Layout:
    """Return where all pieces lie, hides filled in their order; so few hides are enough.

    Raises:
        RequestError: When no room for all is found in so many rounds.
    """
    count = len(problem.hides)
    if count == 1:
        alone = replace(problem, goal="length")
        return search.cut(alone, at_most=rounds, enough=math.inf).layout
    return search.cut(
        problem, at_most=rounds, order=range(count), enough=float(enough), whole=whole
    ).layout


def _shortened(
    search: _Search,
    problem: Problem,
    layout: Layout,
    whole: Callable[[Layout, float], CutLayout],
) -> Layout:
    """Return a layout with the pieces of the hide last cut into pushed to one end of it."""
    if len(problem.hides) == 1:
        try:
            return search.cut(replace(problem, goal="length"), whole=whole).layout
        except RequestError:  # too few rounds are left to find a shorter one
            return layout
    used = {placement.hide for placement in layout}
    last = max(used)
    there = [p for p in layout if p.hide == last]
    kinds = sorted({p.piece for p in there})
    if search.left < 1 or any(p.hide == last for p in problem.fixed):
        return layout
    on_last = replace(
        problem,
        goal="length",
        sets=1,
        hides=(problem.hides[last],),
        pieces=tuple(
            replace(problem.pieces[kind], count=sum(p.piece == kind for p in there))
            for kind in kinds
        ),
        fixed=(),
    )
    copies = {kind: [p.copy for p in there if p.piece == kind] for kind in kinds}

    def joined(short: Layout) -> Layout:
        moved = (
            replace(p, piece=kinds[p.piece], copy=copies[kinds[p.piece]][p.copy], hide=last)
            for p in short
        )
        return (*(p for p in layout if p.hide != last), *moved)

    try:
        shorter = search.cut(on_last, whole=lambda short, length: whole(joined(short), length))
    except RequestError:
        return layout
    return joined(shorter.layout)


def _what_to_buy(search: _Search) -> CutLayout:
    """Return a layout on what there is and as few bought hides as can be found.

    As many as the area asks for are tried first. Where they do not do, more and more are added and
    tried for longer, so that there is an answer soon; with half of the rounds that are left then
    fewer are tried.
    """
    asked = search.asked
    least = count = _least_bought(search)
    rounds, best = float(ATTEMPT), None
    while best is None:
        search.say(f"trying with {count} to buy")
        try:
            best = _bought(search, count, least, int(rounds))
        except RequestError:
            if search.called_off() or search.left < 1 or count == MOST_BOUGHT:
                raise
            count = min(least + MORE * (count - least) + 1, MOST_BOUGHT)
            rounds *= LONGER
    if best[0] > least and search.left > ATTEMPT and not search.called_off():
        search.say(f"trying with fewer than {best[0]} to buy")
        with suppress(RequestError):
            best = _bought(search, best[0], least, search.left // 2, fewer=True)
    count, layout = best
    hides, problem = _with_bought(asked, count)
    whole = search.maker(problem, asked.sets, hides, float(least))
    layout = _shortened(search, problem, layout, _always(whole, count))
    return whole(layout, float(count))


def _bought(
    search: _Search, most: int, least: int, rounds: int, *, fewer: bool = False
) -> tuple[int, Layout]:
    """Return how many bought hides are cut into, of so many at most, and where all pieces lie.

    Raises:
        RequestError: When no room for all is found in so many rounds.
    """
    asked, stock = search.asked, len(search.asked.hides)
    hides, problem = _with_bought(asked, most)
    whole = search.maker(problem, asked.sets, hides, float(least))
    enough = stock + least if fewer else len(hides)
    layout = _attempted(search, problem, _always(whole, most), rounds, enough)
    used = sorted({placement.hide for placement in layout if placement.hide >= stock})
    number = {hide: stock + k for k, hide in enumerate(used)}  # those bought are alike
    return len(used), tuple(replace(p, hide=number.get(p.hide, p.hide)) for p in layout)


def _least_bought(search: _Search) -> int:
    """Return how many hides must be bought for there to be area enough.

    Raises:
        RequestError: More than may be.
    """
    asked = search.asked
    for count in range(0 if asked.hides else 1, MOST_BOUGHT + 1):
        hides, problem = _with_bought(asked, count)
        if _have_room(rooms_of(problem), range(len(hides))):
            return count
    raise RequestError(
        f"{asked.sets} sets do not lie on {MOST_BOUGHT} such hides",
        mend="Offer a larger hide, or ask for fewer sets",
    )


def _with_bought(asked: CutAsked, count: int) -> tuple[tuple[tuple[str, StockHide], ...], Problem]:
    """Return the hides there are and some of those offered, and what is to be laid on them."""
    assert asked.offered is not None
    new = "to buy" if asked.question == "what to buy" else "new sheet"
    hide = asked.offered.hide
    bought = (
        ("", replace(asked.offered, hide=replace(hide, name=f"{new} {n}")))
        for n in range(1, count + 1)
    )
    hides = (*asked.hides, *bought)
    return hides, problem_for(asked, "hides", asked.sets, hides)


def _always(
    whole: Callable[[Layout, float | None], CutLayout], figure: float
) -> Callable[[Layout, float], CutLayout]:
    return lambda layout, _: whole(layout, figure)


def _one_more(search: _Search) -> CutLayout:
    """Return a layout with one more set, its figure what that takes, m2."""
    asked = search.asked
    each = max(1, min(asked.rounds // 2, ONE_MORE))
    both = []
    for sets in (asked.sets, asked.sets + 1):
        part = replace(search, asked=replace(asked, rounds=each), spent=0)
        both.append(_least(part, sets))
        search.spent += part.spent
    now, more = both
    one_set = (more.pieces_m2 - now.pieces_m2) if more.pieces_m2 > now.pieces_m2 else 0.0
    return replace(
        more,
        figure=max(more.taken_m2 - now.taken_m2, one_set),
        bound=one_set,
        rounds=search.spent,
    )


def _choices(search: _Search, sets: int) -> Iterator[tuple[int, ...]]:
    """Yield hides that could hold a batch, those that are missed least first.

    In each the one worth most comes last: it is the one that something may be left of.
    """
    asked = search.asked
    worth = [worth_m2(stock.hide) for _, stock in asked.hides]
    by_worth = sorted(range(len(worth)), key=lambda number: (worth[number], number))
    rooms = rooms_of(problem_for(asked, "hides", sets, asked.hides))
    sizes = range(1, min(len(worth), MOST_HIDES) + 1)
    some = [chosen for n in sizes for chosen in combinations(by_worth[:MOST_HIDES], n)]
    if len(worth) > MOST_HIDES:
        some += [tuple(by_worth[: n + 1]) for n in range(MOST_HIDES, len(worth))]
    some.sort(key=lambda chosen: (sum(worth[number] for number in chosen), chosen))
    some = [chosen for chosen in some if _have_room(rooms, chosen)]
    some.sort(key=lambda chosen: not _have_room(rooms, chosen, DENSE))
    yield from some


def _have_room(rooms: Rooms, chosen: Sequence[int], share: float = 1.0) -> bool:
    """Whether all pieces take no more than a share of what some hides have for them."""
    return all(wanted <= share * math.fsum(room[k] for k in chosen) for wanted, room in rooms)


def _on_chosen(fixed: Layout, chosen: tuple[int, ...]) -> Layout:
    return tuple(replace(p, hide=chosen.index(p.hide)) for p in fixed if p.hide in chosen)
