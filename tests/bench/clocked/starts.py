"""How long a person waits for a first result: processor time of whole commands, beside the bare interpreter's start.

Rule: each command is timed right after a bare start, by the processor's clock, so that a busy machine changes neither.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from report import Goal, close, options

BARE = ("-c", "pass")
QUICK = ("test", "--board", "virtual", "--protocol", "relay-quick")
LIST = ("protocol", "list")
QUICK_MOST, LIST_MOST, HELP_MOST = 45.0, 18.0, 6.0
"""Bare starts that the quick test, the list of protocols and the help may take."""
FIRST_MOST_S, PDF_MOST_S, VIEW_MOST_S = 5.0, 3.0, 0.1
VIEW = """
import sys, time, urllib.request
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.page.server import served
from pulldrop.store import Store

with Store.look(sys.argv[1]) as history, served(None, print, port=0, kept=StoreSource(history)) as page:
    time.sleep(0.5)
    began = time.process_time()
    page_of_parts = urllib.request.urlopen(page.address).read()
    took_s = time.process_time() - began
    assert b"23Y" in page_of_parts
    print(took_s)
"""
"""A page's server, once it is up, and who looks at it first: the list of parts."""


def cost_s(arguments: Sequence[str], **env: str) -> float:
    """Processor seconds of one process of this interpreter, with all that it starts; it may keep what it compiles."""
    given = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True, env=given | env)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def command_s(*arguments: str, **env: str) -> float:
    """Of one command."""
    return cost_s(("-m", "pulldrop", *arguments), **env)


def bare_starts(times: int, *arguments: str) -> float:
    """How many bare starts a command takes, the median of so many pairs."""
    command_s(*arguments)
    return statistics.median(1 / (cost_s(BARE) / command_s(*arguments)) for _ in range(times))


def first_s() -> float:
    """A first test: nothing compiled, no settings, no store."""
    with tempfile.TemporaryDirectory() as new:
        folders = {name: f"{new}/{name}" for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME")}
        return command_s(*QUICK, PYTHONPYCACHEPREFIX=f"{new}/compiled", **folders)


def pdf_s(times: int) -> float:
    """The certificate of a full test as PDF."""
    with tempfile.TemporaryDirectory() as new:
        store = f"{new}/s.db"
        command_s("test", "--board", "virtual", "--protocol", "relay-full", "--part", "23Y", "--store", store)
        sheet = ("report", "part", "23Y", "--out", f"{new}/full.pdf", "--store", store)
        took = statistics.median(command_s(*sheet) for _ in range(times))
        assert Path(f"{new}/full.pdf").read_bytes().startswith(b"%PDF")
        return took


def view_s(times: int) -> float:
    """The first view of the page, on loopback, with both ends of the line in it."""
    with tempfile.TemporaryDirectory() as new:
        command_s(*QUICK, "--part", "23Y", "--store", f"{new}/s.db")
        again = (sys.executable, "-c", VIEW, f"{new}/s.db")
        answers = [subprocess.run(again, check=True, capture_output=True, text=True).stdout for _ in range(times)]
        return statistics.median(float(answer.split()[-1]) for answer in answers)


def main() -> int:
    given = options("Processor time until a person sees a result.", 9)
    quick = bare_starts(given.parts, *QUICK, "--store", ":memory:", "--seed", str(given.seed))
    listed, helped = bare_starts(given.parts, *LIST), bare_starts(given.parts, "--help")
    first, sheet, view = first_s(), pdf_s(min(given.parts, 5)), view_s(min(given.parts, 5))
    print(f"bare start of the interpreter: {statistics.median(cost_s(BARE) for _ in range(given.parts)):.3f} s")
    print(f"quick test: {quick:.1f} bare starts; list of protocols: {listed:.1f}; help: {helped:.1f}")
    print(f"first test, nothing compiled: {first:.2f} s; PDF of a full test: {sheet:.2f} s")
    print(f"first view of the page: {1e3 * view:.0f} ms")
    goals = [
        Goal("quick test, bare starts", quick, high=QUICK_MOST),
        Goal("list of protocols, bare starts", listed, high=LIST_MOST),
        Goal("help, bare starts", helped, high=HELP_MOST),
        Goal("first result, s", first, high=FIRST_MOST_S),
        Goal("PDF of a full test, s", sheet, high=PDF_MOST_S),
        Goal("first view of the page, s", view, high=VIEW_MOST_S),
    ]
    return close("starts", given, goals)


if __name__ == "__main__":
    sys.exit(main())
