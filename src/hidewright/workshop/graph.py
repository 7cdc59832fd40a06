"""A small graph evaluator: everything shown is a function of the inputs, recomputed if it must be.

A node names what it needs: inputs or other nodes. Its result is kept under the digest of the values
it was given, so a change that leaves those values as they were stops there. A node that refuses
(``RequestError``) or needs something that is missing gives ``Missing``; all else stays alive.
"""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from hidewright.errors import RequestError
from hidewright.workshop.digest import digest, digest_and_weight

#: What a cache holds before the least recently used goes, bytes.
CACHE_BYTES = 256_000_000
#: What a refusal counts for.
MISSING_BYTES = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One step of a chain.

    Attributes:
        name: Unique among nodes and inputs.
        needs: Names of inputs or nodes whose values ``compute`` takes, in order.
        compute: A pure function of those values.
    """

    name: str
    needs: tuple[str, ...]
    compute: Callable[..., Any]


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
) -> Evaluation:
    """Return the wanted values, computing only what the cache does not hold.

    Args:
        nodes: The graph; needs must be inputs or nodes, without cycles.
        inputs: Values by name.
        wanted: Names of nodes.
        cache: Kept between calls by the caller.
        progress: Called with a node's name before it is computed.

    Raises:
        KeyError: A need that is neither input nor node: our own mistake.
    """
    by_name = {node.name: node for node in nodes}
    known: dict[str, tuple[Any, bytes]] = {k: (v, digest(v)) for k, v in inputs.items()}
    computed: list[str] = []

    def value_of(name: str) -> tuple[Any, bytes]:
        if name in known:
            return known[name]
        node = by_name[name]
        arguments = [value_of(need) for need in node.needs]
        missing = next((v for v, _ in arguments if isinstance(v, Missing)), None)
        if missing is not None:
            known[name] = (missing, b"")
            return known[name]
        key = digest((name, *(d for _, d in arguments)))
        found = cache.get(key)
        if found is None:
            progress(name)
            computed.append(name)
            try:
                value: object = node.compute(*(v for v, _ in arguments))
                named, weight = digest_and_weight(value)
            except RequestError as refused:
                value, named, weight = Missing(node=name, because=refused), b"", MISSING_BYTES
            cache.keep(key, value, named, weight)
            found = (value, named)
        known[name] = found
        return found

    values = {name: value_of(name)[0] for name in wanted}
    return Evaluation(values=values, computed=tuple(computed))
