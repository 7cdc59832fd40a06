"""Thread, needle and awl for a seam, by its pitch and stack."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.awls import Awl
from hidewright.catalogue.needles import Needle
from hidewright.catalogue.threads import Thread
from hidewright.design.choices import SewingChoice
from hidewright.design.seam import SewnSeam
from hidewright.errors import Remark, Remedy, RequestError

#: A needle's shaft over the diameter of its thread, so that the eye takes it (from memory).
SHAFT_TO_THREAD = 1.3
#: From this stack on the needle is taken one size thicker, mm (from memory).
THICK_STACK_MM = 6.0
#: An awl may be wider than the slit by this much before it tears its ends, mm (from memory).
AWL_OVER_SLIT_MM = 0.25
#: A pitch may be off a thread's range by this much before it is said, mm.
PITCH_SLACK_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class SewingTools:
    """What a seam is sewn with.

    Attributes:
        thread: As chosen for the design.
        needle: Two of them.
        awl: Opens the holes.
    """

    thread: Thread
    needle: Needle
    awl: Awl


def tools_for(
    sewn: SewnSeam,
    thread: Thread,
    threads: Sequence[Thread],
    needles: Sequence[Needle],
    awls: Sequence[Awl],
    choice: SewingChoice,
) -> tuple[SewingTools, tuple[Remark, ...]]:
    """Return needle and awl for a seam and its thread, with remarks where they do not suit.

    Args:
        sewn: The seam with its holes.
        thread: What the design is sewn with.
        threads: To name a better one from.
        needles: To choose from.
        awls: To choose from.
        choice: Mark, slit and slant.
    """
    needle = choose_needle(thread, sewn.stack_mm, needles)
    awl = choose_awl(thread, needle, choice.mark, awls)
    tools = SewingTools(thread=thread, needle=needle, awl=awl)
    return tools, (*_check_thread(sewn, thread, threads), *_check_awl(sewn, tools, choice))


def choose_thread(pitch_mm: float, threads: Sequence[Thread], like: Thread | None = None) -> Thread:
    """Return the thread that suits a pitch best.

    Of the threads whose range of pitches holds the pitch, the one of the wanted fibre whose range
    lies most evenly about it; failing that the one whose range is nearest.

    Args:
        pitch_mm: Hole to hole.
        threads: At least one.
        like: A thread whose fibre is preferred.
    """
    if not threads:
        raise RequestError("no thread to choose from", mend="Add a thread to the catalogue")

    def misfit(thread: Thread) -> tuple[float, bool, float, str]:
        outside = max(thread.pitch_min_mm - pitch_mm, pitch_mm - thread.pitch_max_mm, 0.0)
        middle = (thread.pitch_min_mm + thread.pitch_max_mm) / 2
        other = like is not None and thread.fibre != like.fibre
        return (round(outside, 9), other, abs(middle - pitch_mm), thread.name)

    return min(threads, key=misfit)


def choose_needle(thread: Thread, stack_mm: float, needles: Sequence[Needle]) -> Needle:
    """Return the thinnest needle whose eye takes the thread, one size thicker in a thick stack.

    A shaft of at least 1.3 times the thread; a size thicker from 6 mm of leather on, where thin
    needles bend (from memory). The thickest there is when none is thick enough.
    """
    if not needles:
        raise RequestError("no needle to choose from", mend="Add a needle to the catalogue")
    by_size = sorted(needles, key=lambda n: n.diameter_mm)
    wanted = SHAFT_TO_THREAD * thread.diameter_mm
    k = next((i for i, n in enumerate(by_size) if n.diameter_mm >= wanted), len(by_size) - 1)
    if stack_mm >= THICK_STACK_MM:
        k = min(k + 1, len(by_size) - 1)
    return by_size[k]


def choose_awl(
    thread: Thread, needle: Needle, mark: Literal["slanted", "round"], awls: Sequence[Awl]
) -> Awl:
    """Return the narrowest awl through whose hole the second needle passes beside the thread.

    A slit must be as long as needle and thread are thick together; a round hole gives way, and
    must take the needle (from memory). The widest there is when none is wide enough.

    Raises:
        RequestError: When there is no awl of the section that the mark needs.
    """
    section = "diamond" if mark == "slanted" else "round"
    fitting = sorted((a for a in awls if a.section == section), key=lambda a: a.width_mm)
    if not fitting:
        raise RequestError(
            f"no {section} awl to choose from",
            because=f"{mark} holes are opened with one",
            mend="Add one to the catalogue",
        )
    wanted = needle.diameter_mm + (thread.diameter_mm if section == "diamond" else 0.0)
    return next((a for a in fitting if a.width_mm >= wanted), fitting[-1])


def _check_thread(sewn: SewnSeam, thread: Thread, threads: Sequence[Thread]) -> list[Remark]:
    low, high = sewn.pitch_mm
    pitch = (low + high) / 2
    thick = pitch < thread.pitch_min_mm - PITCH_SLACK_MM
    if not thick and pitch <= thread.pitch_max_mm + PITCH_SLACK_MM:
        return []
    better = choose_thread(pitch, threads, like=thread) if threads else thread
    suits = better.name != thread.name
    return [
        Remark(
            code="thread-too-thick" if thick else "thread-too-thin",
            severity="warning",
            place=sewn.name,
            amount=pitch,
            limit=thread.pitch_min_mm if thick else thread.pitch_max_mm,
            sentence=f"{thread.name} is too {'thick' if thick else 'thin'} for stitches of "
            f"{pitch:.1f} mm: it suits {thread.pitch_min_mm:g}-{thread.pitch_max_mm:g} mm"
            + (f"; {better.name} comes nearest" if suits else ""),
            remedies=(Remedy(field="thread", value=better.name),) if suits else (),
        )
    ]


def _check_awl(sewn: SewnSeam, tools: SewingTools, choice: SewingChoice) -> list[Remark]:
    over = tools.awl.width_mm - choice.slit_mm
    if over <= AWL_OVER_SLIT_MM + 1e-9:
        return []
    what = "slit" if choice.mark == "slanted" else "hole"
    return [
        Remark(
            code="awl-wider-than-hole",
            severity="note",
            place=sewn.name,
            amount=tools.awl.width_mm,
            limit=choice.slit_mm,
            sentence=f"{tools.thread.name} with needle {tools.needle.name} wants the "
            f"{tools.awl.name}, wider than the marked {what} of {choice.slit_mm:g} mm, and opens "
            "it further",
            remedies=(Remedy(field="sewing.slit", value=f"{tools.awl.width_mm:g} mm"),),
        )
    ]
