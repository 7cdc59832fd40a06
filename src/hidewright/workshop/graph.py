"""A small graph evaluator: everything shown is a function of the inputs, recomputed if it must be.

A node names what it needs: inputs or other nodes. Its result is kept under the digest of the values
it was given, so a change that leaves those values as they were stops there. A node that refuses
(``RequestError``) or needs something that is missing gives ``Missing``; all else stays alive.

Two can work at one evaluation, this process and one beside it: each takes, of what is ready, the
node from which the longest way leads on, as in list scheduling (Graham 1969); what is too short to
be told the other goes first here, so that what waits for it can be shared. As nodes are pure, the
values are the same.
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
#: A node that takes less is not worth telling another process what it takes, s.
WORTH_TELLING_S = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One step of a chain.

    Attributes:
        name: Unique among nodes and inputs.
        needs: Names of inputs or nodes whose values ``compute`` takes, in order.
        compute: A pure function of those values.
        seconds: About how long that takes; only the order of work of two processes hangs on it.
        gather: When given, ``compute`` takes one item of the first need at a time, in its place,
            and each result is kept by itself; this makes the node's value of their tuple. Items of
            a need that is gathered itself are what was gathered.
    """

    name: str
    needs: tuple[str, ...]
    compute: Callable[..., Any]
    seconds: float = 0.01
    gather: Callable[..., Any] | None = None


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
    work = _Work([_Task(n.name, n, n.needs) for n in order], cache, progress, known)
    if beside is None:
        work.do(_here)
    else:
        work.do_with(beside)
    values = {name: work.known[name][0] for name in wanted}
    return Evaluation(values=values, computed=tuple(dict.fromkeys(work.computed)))


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
    """Return the short nodes first, then by how long the work is that leads on from each."""
    seconds = {node.name: node.seconds for node in order}
    onward = dict(seconds)
    for node in reversed(order):
        for name in seconds.keys() & set(node.needs):
            onward[name] = max(onward[name], seconds[name] + onward[node.name])
    return sorted(order, key=lambda n: (n.seconds >= WORTH_TELLING_S, -onward[n.name]))


@dataclass(frozen=True, slots=True)
class _Task:
    """A node to compute: all of it or, with a name of its own, for one item.

    Attributes:
        name: What its value is known by.
        node: What is computed.
        needs: Names of the values it takes.
        gather: When given, nothing is computed: this makes a node's value of those of its items.
    """

    name: str
    node: Node
    needs: tuple[str, ...]
    gather: Callable[..., Any] | None = None


@dataclass(slots=True)
class _Work:
    """One evaluation, for one or two to work at."""

    todo: list[_Task]
    cache: Cache
    progress: Callable[[str], None]
    known: dict[str, Named]
    computed: list[str] = field(default_factory=list)
    _items: dict[str, tuple[str, ...]] = field(default_factory=dict)
    _under_way: int = 0
    _failure: BaseException | None = None
    _news: threading.Condition = field(default_factory=threading.Condition)

    def do(self, compute: Callable[[Node, Sequence[Named]], Result], least_s: float = 0.0) -> None:
        """Compute one node after the other until all is known, none that takes less than told."""
        while (taken := self._take(least_s)) is not None:
            task, key, arguments = taken
            found: Result | None = None
            try:
                found = compute(task.node, arguments)
            finally:
                with self._news:
                    self._under_way -= 1
                    if found is None:
                        self.todo.insert(0, task)
                    else:
                        self.cache.keep(key, *found)
                        self.known[task.name] = found[:2]
                    self._news.notify_all()

    def do_with(self, beside: Beside) -> None:
        """Do it here while one beside does it too."""

        def there() -> None:
            try:
                while not beside.is_ready(READY_S):
                    if self._is_over:
                        return
                self.do(
                    lambda node, arguments: beside.compute(node.name, arguments), WORTH_TELLING_S
                )
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

    def _take(self, least_s: float) -> tuple[_Task, bytes, list[Named]] | None:
        """Return what to compute with its key and arguments, None when all is known."""
        with self._news:
            while True:
                if self._failure is not None:
                    raise self._failure
                taken = self._next(least_s)
                if taken is not None:
                    node = taken[0].node
                    self.progress(node.name)
                    self.computed.append(node.name)
                    self._under_way += 1
                    return taken
                self._news.notify_all()  # of what was found in the cache
                if self._is_over:
                    return None
                self._news.wait()

    def _next(self, least_s: float) -> tuple[_Task, bytes, list[Named]] | None:
        """Return the first task that is ready, takes so long and is not in the cache."""
        at = 0
        while at < len(self.todo):
            task = self.todo[at]
            if task.name == task.node.name and task.gather is None and self._split(at):
                continue
            is_short = task.node.seconds < least_s and task.gather is None
            if is_short or any(need not in self.known for need in task.needs):
                at += 1
                continue
            del self.todo[at]
            found = self._known_of(task)
            if isinstance(found, bytes):
                return task, found, [self.known[need] for need in task.needs]
            self.known[task.name] = found
            at = 0
        return None

    def _split(self, at: int) -> bool:
        """Put in place of a task those for its items, if it has items and they are known."""
        node = self.todo[at].node
        first = node.needs[0] if node.needs else ""
        if node.gather is None:
            return False
        if first not in self._items:
            value = self.known.get(first, (Missing, b""))[0]
            if not isinstance(value, tuple):
                return False
            self._items[first] = tuple(f"{first}[{i}]" for i in range(len(value)))
            self.known |= {
                name: (item, digest(item))
                for name, item in zip(self._items[first], value, strict=True)
            }
        items = tuple(f"{node.name}[{i}]" for i in range(len(self._items[first])))
        self._items[node.name] = items
        self.todo[at : at + 1] = (
            *(
                _Task(name, node, (item, *node.needs[1:]))
                for name, item in zip(items, self._items[first], strict=True)
            ),
            _Task(node.name, node, items, node.gather),
        )
        return True

    def _known_of(self, task: _Task) -> Named | bytes:
        """Return what a task that is ready gives, or under which key it is to be kept."""
        arguments = [self.known[need] for need in task.needs]
        missing = next((v for v, _ in arguments if isinstance(v, Missing)), None)
        if missing is not None:
            return missing, b""
        key = digest((task.node.name, *(d for _, d in arguments)))
        if task.gather is not None:
            return task.gather(tuple(value for value, _ in arguments)), key
        return self.cache.get(key) or key
