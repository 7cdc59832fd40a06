"""A small graph evaluator: everything shown is a function of the inputs, recomputed if it must be.

A node names what it needs: inputs or other nodes. Its result is kept under the digest of the values
it was given, so a change that leaves those values as they were stops there. A node that refuses
(``RequestError``) or needs something that is missing gives ``Missing``; all else stays alive.

Two can work at one evaluation, this process and one beside it: each takes, of what is ready, the
node from which the longest way leads on, as in list scheduling (Graham 1969). As nodes are pure,
the values are the same.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from hidewright.errors import RequestError
from hidewright.workshop.digest import digest, digest_and_weight

#: What a cache holds before the least recently used goes, bytes.
CACHE_BYTES = 256_000_000
#: What a refusal counts for.
MISSING_BYTES = 1_000
#: How often one who waits for the other to get ready looks whether all is done, s.
READY_S = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One step of a chain.

    Attributes:
        name: Unique among nodes and inputs.
        needs: Names of inputs or nodes whose values ``compute`` takes, in order.
        compute: A pure function of those values.
        seconds: About how long that takes; only the order of work of two processes hangs on it.
    """

    name: str
    needs: tuple[str, ...]
    compute: Callable[..., Any]
    seconds: float = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """What stands in for a value that could not be computed.

    Attributes:
        node: The node that refused first.
        because: What it said.
    """

    node: str
    because: RequestError


@dataclass(slots=True)
class Cache:
    """Results by key, least recently used out first. Passed in and kept by the caller."""

    limit_bytes: int = CACHE_BYTES
    held_bytes: int = 0
    _entries: OrderedDict[bytes, tuple[Any, bytes, int]] = field(default_factory=OrderedDict)

    def get(self, key: bytes) -> tuple[Any, bytes] | None:
        """Return (value, digest of the value) kept under a key, or None."""
        entry = self._entries.get(key)
        if entry is None:
            return None
        self._entries.move_to_end(key)
        return entry[0], entry[1]

    def keep(self, key: bytes, value: object, value_digest: bytes, weight: int) -> None:
        """Keep a value of some bytes; the least recently used go when there are too many."""
        self._entries[key] = (value, value_digest, weight)
        self.held_bytes += weight
        while self.held_bytes > self.limit_bytes and len(self._entries) > 1:
            _, (_, _, gone) = self._entries.popitem(last=False)
            self.held_bytes -= gone


#: A value by its digest.
Named = tuple[Any, bytes]
#: What a node gave, its digest and about how many bytes it holds.
Result = tuple[Any, bytes, int]


class Beside(Protocol):
    """Computes nodes beside this process."""

    def is_ready(self, within_s: float) -> bool:
        """Return whether it can compute, waiting for that so many seconds at most.

        Raises:
            ConnectionError: It never will.
        """

    def compute(self, node: str, arguments: Sequence[Named]) -> Result:
        """Return what a node gives.

        Raises:
            ConnectionError: It cannot go on; the node is to be computed here.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """Values of what was wanted.

    Attributes:
        values: By node name; ``Missing`` where it could not be computed.
        computed: Nodes that were computed now, in order; the rest came from the cache.
    """

    values: Mapping[str, Any]
    computed: tuple[str, ...]


def evaluate(
    nodes: Iterable[Node],
    inputs: Mapping[str, object],
    wanted: Iterable[str],
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
    beside: Beside | None = None,
) -> Evaluation:
    """Return the wanted values, computing only what the cache does not hold.

    Args:
        nodes: The graph; needs must be inputs or nodes, without cycles.
        inputs: Values by name.
        wanted: Names of nodes.
        cache: Kept between calls by the caller.
        progress: Called with a node's name before it is computed.
        beside: Computes some of the nodes meanwhile.

    Raises:
        KeyError: A need that is neither input nor node: our own mistake.
    """
    wanted = tuple(wanted)
    order = _order({node.name: node for node in nodes}, inputs, wanted)
    if beside is not None:
        order = _longest_way_first(order)
    known = {name: (value, digest(value)) for name, value in inputs.items()}
    work = _Work(order, cache, progress, known)
    if beside is None:
        work.do(_here)
    else:
        work.do_with(beside)
    values = {name: work.known[name][0] for name in wanted}
    return Evaluation(values=values, computed=tuple(work.computed))


def result_of(node: Node, arguments: Iterable[Any]) -> Result:
    """Return what a node gives of some values."""
    try:
        value: object = node.compute(*arguments)
        return value, *digest_and_weight(value)
    except RequestError as refused:
        return Missing(node=node.name, because=refused), b"", MISSING_BYTES


def _here(node: Node, arguments: Sequence[Named]) -> Result:
    return result_of(node, (value for value, _ in arguments))


def _order(
    by_name: Mapping[str, Node], inputs: Mapping[str, object], wanted: Iterable[str]
) -> list[Node]:
    """Return the nodes that are needed for what is wanted, each after those it needs."""
    order: dict[str, Node] = {}

    def need(name: str) -> None:
        if name not in inputs and name not in order:
            for other in by_name[name].needs:
                need(other)
            order[name] = by_name[name]

    for name in wanted:
        need(name)
    return list(order.values())


def _longest_way_first(order: Sequence[Node]) -> list[Node]:
    """Return nodes by how long the work is that must come one after the other from them on."""
    seconds = {node.name: node.seconds for node in order}
    onward = dict(seconds)
    for node in reversed(order):
        for name in seconds.keys() & set(node.needs):
            onward[name] = max(onward[name], seconds[name] + onward[node.name])
    return sorted(order, key=lambda node: -onward[node.name])


@dataclass(slots=True)
class _Work:
    """One evaluation, for one or two to work at."""

    todo: list[Node]
    cache: Cache
    progress: Callable[[str], None]
    known: dict[str, Named]
    computed: list[str] = field(default_factory=list)
    _under_way: int = 0
    _failure: BaseException | None = None
    _news: threading.Condition = field(default_factory=threading.Condition)

    def do(self, compute: Callable[[Node, Sequence[Named]], Result]) -> None:
        """Compute one node after the other until all is known."""
        while (taken := self._take()) is not None:
            node, key, arguments = taken
            found: Result | None = None
            try:
                found = compute(node, arguments)
            finally:
                with self._news:
                    self._under_way -= 1
                    if found is None:
                        self.todo.insert(0, node)
                    else:
                        self.cache.keep(key, *found)
                        self.known[node.name] = found[:2]
                    self._news.notify_all()

    def do_with(self, beside: Beside) -> None:
        """Do it here while one beside does it too."""

        def there() -> None:
            try:
                while not beside.is_ready(READY_S):
                    if self._is_over:
                        return
                self.do(lambda node, arguments: beside.compute(node.name, arguments))
            except ConnectionError:  # what it had taken is there to be taken again
                pass
            except BaseException as failure:  # raised where it is waited for
                with self._news:
                    self._failure = failure
                    self._news.notify_all()

        helper = threading.Thread(target=there, daemon=True)
        helper.start()
        try:
            self.do(_here)
        finally:
            with self._news:
                self.todo.clear()
                self._news.notify_all()
            helper.join()

    @property
    def _is_over(self) -> bool:
        return not self.todo and not self._under_way

    def _take(self) -> tuple[Node, bytes, list[Named]] | None:
        """Return a node to compute with its key and arguments, None when all is known."""
        with self._news:
            while True:
                if self._failure is not None:
                    raise self._failure
                taken = self._next()
                if taken is not None:
                    self.progress(taken[0].name)
                    self.computed.append(taken[0].name)
                    self._under_way += 1
                    return taken
                self._news.notify_all()  # of what was found in the cache
                if self._is_over:
                    return None
                self._news.wait()

    def _next(self) -> tuple[Node, bytes, list[Named]] | None:
        """Return the first node that is ready and is not in the cache."""
        at = 0
        while at < len(self.todo):
            node = self.todo[at]
            if any(need not in self.known for need in node.needs):
                at += 1
                continue
            del self.todo[at]
            arguments = [self.known[need] for need in node.needs]
            missing = next((v for v, _ in arguments if isinstance(v, Missing)), None)
            if missing is not None:
                self.known[node.name] = (missing, b"")
            else:
                key = digest((node.name, *(d for _, d in arguments)))
                found = self.cache.get(key)
                if found is None:
                    return node, key, arguments
                self.known[node.name] = found
            at = 0
        return None
