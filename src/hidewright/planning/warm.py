"""The kernels compiled, or fetched from where they were kept, before time is taken."""

from hidewright.planning.bench import Bench
from hidewright.planning.calendar import every_day
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Wishes
from hidewright.planning.problem import Operation, Person, Problem
from hidewright.planning.rules import Rules
from hidewright.planning.shaving import in_time


def compile_kernels(*, by_hand: bool = True) -> None:
    """Plan one step, and ask when it can be done: all kernels run.

    Args:
        by_hand: Whether batches are to be planned; else problems without hands.
    """
    step = (Operation(load=0, step="cut", minutes=1, hands=by_hand),)
    if by_hand:
        person = Person(name="one", calendar=every_day(((0, 60),), range(7)))
        problem = Problem(operations=step, persons=(person,))
        rules = Rules(problem)
        in_time(rules, rules.bounds.finish(2), None)
        Dispatcher(Bench(problem)).run(
            Wishes(keys=[0.0], stretch=[0], flush_key=0.0, scrap_key=0.0)
        )
        return
    from hidewright.planning.projects import FIRST_ORDERS, Project  # they take long to load

    rounds = Project(Problem(operations=step), seed=0).rounds()
    for _ in range(FIRST_ORDERS + 1):
        next(rounds)
