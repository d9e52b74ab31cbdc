"""Trying mutants of calc on tests/calc: each in a process of its own, and no file of calc is touched.

A mutant in a function that only tests call is put in that function's place once the tests are collected; any other is
put in its module's place before calc is imported.
"""

import builtins
import contextlib
import gc
import importlib.machinery
import os
import pickle
import resource
import signal
import sys
import traceback
from collections import Counter
from collections.abc import Callable
from itertools import zip_longest
from pathlib import Path
from types import CodeType, FunctionType

import hypothesis
import hypothesis.strategies
import pytest
from cosmic_ray.exceptions import CosmicRayTestingException

from script.mutants import Mutant

ROOT = Path(__file__).parents[1]
CALC, TESTS = ROOT / "calc", ROOT / "tests" / "calc"
AT_ONCE = 2
# Of what must hold for random blinds, this many: enough to notice a fault, few enough for thousands of mutants.
EXAMPLES = 5
# Processor time of one test; the slowest takes about 3 s. A mutant that runs on would be noticed by whoever waits.
MOST_S = 20
MOST_BYTES = 2 * 2**30
# The command's tests need Django and try how it is called; the others take long and seldom notice what the rest don't.
LEFT_OUT = ("test_components_command.py",)
DESELECTED = ("test_the_naive_computation_knows_every_code_that_a_well_formed_blind_can_have",)
DESELECTED += tuple(
    f"test_every_key_of_five_hundred_varied_blinds_equals_the_naive_computation[{seed}]" for seed in range(2, 10)
)
LAST = ("test_oracle.py", "test_properties.py")
QUIET = ("-q", "--tb=no", "--noconftest", "-p", "no:django", "-p", "no:cacheprovider", "-p", "no:faulthandler")
IGNORED = ("-W", "ignore::pytest.PytestConfigWarning", "-W", "ignore::pytest.PytestAssertRewriteWarning")
ARGUMENTS = (*QUIET, *IGNORED, "-x", "-s", "-o", "addopts=--import-mode=importlib")

# Which test has killed how many mutants, by module and by function.
Kills = dict[tuple[str, ...], Counter]


class Watch:
    """A pytest plugin that keeps the first failure, and the functions of calc that run before any test does."""

    def __init__(self):
        self.killer, self.run_early = "", set()

    def pytest_collection_modifyitems(self, items):
        items[:] = [item for item in items if item.name not in DESELECTED]

    def pytest_runtest_logstart(self, nodeid):
        sys.setprofile(None)
        signal.setitimer(signal.ITIMER_PROF, MOST_S)

    def pytest_runtest_logreport(self, report):
        if report.failed:
            self.killer = self.killer or report.nodeid

    def pytest_collectreport(self, report):
        if report.failed:
            self.killer = self.killer or "import"

    def note_call(self, frame, event, _argument):
        code = frame.f_code
        if event == "call" and Path(code.co_filename).parent == ROOT / "calc":
            self.run_early.add((Path(code.co_filename).stem, code.co_qualname.split(".<locals>")[0]))


class Early(Watch):
    """Tries one mutant that is in its module's place from the start."""

    def __init__(self, mutant: Mutant, kills: Kills):
        super().__init__()
        self._mutant, self._kills = mutant, kills

    def pytest_collection_modifyitems(self, items):
        super().pytest_collection_modifyitems(items)
        items[:] = likeliest_first(items, self._mutant, self._kills)


class Late(Watch):
    """Tries many mutants, each in a child forked from here, where the tests are collected; runs no test itself."""

    def __init__(self, found: list[Mutant], kills: Kills):
        super().__init__()
        self._found, self._kills, self.killers = found, kills, {}

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        functions = functions_of_calc()
        gc.freeze()

        def judge(mutant):
            hush()
            function = functions[mutant.module, mutant.inside]
            function.__code__ = code_of(mutant)
            items = likeliest_first(session.items, mutant, self._kills)
            for item, following in zip_longest(items, items[1:]):
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
                if self.killer:
                    break
            return self.killer

        self.killers = judged(self._found, self._kills, judge)
        return True


def functions_of_calc() -> dict[tuple[str, str], FunctionType]:
    return {
        (each.__module__.removeprefix("calc."), each.__qualname__): each
        for each in gc.get_objects()
        if isinstance(each, FunctionType) and str(each.__module__).startswith("calc.")
    }


def code_of(mutant: Mutant) -> CodeType:
    """The code of the function in which the mutant lies."""
    codes = [compile(mutant.source, str(path_of(mutant.module)), "exec", dont_inherit=True)]
    for code in codes:
        if code.co_qualname == mutant.inside:
            return code
        codes += [each for each in code.co_consts if isinstance(each, CodeType)]
    raise LookupError(mutant.inside)


class MutatedLoader(importlib.machinery.SourceFileLoader):
    """Loads a module of calc from a mutant's source."""

    def __init__(self, name: str, path: str, source: str):
        super().__init__(name, path)
        self._source = source

    def get_code(self, fullname):
        return compile(self._source, self.path, "exec", dont_inherit=True)


class MutatedFinder:
    """Puts one mutant in its module's place."""

    def __init__(self, mutant: Mutant):
        self._mutant = mutant

    def find_spec(self, name, path=None, target=None):
        if name != f"calc.{self._mutant.module}":
            return None
        file = str(path_of(self._mutant.module))
        return importlib.machinery.ModuleSpec(name, MutatedLoader(name, file, self._mutant.source), origin=file)


def path_of(module: str) -> Path:
    return CALC / f"{module}.py"


def test_files() -> list[str]:
    return sorted(str(path) for path in TESTS.glob("test_*.py") if path.name not in LEFT_OUT)


def few_examples() -> None:
    """Caps every test's number of random examples and takes the chance out of them."""
    set_up = hypothesis.settings.__init__

    def capped(self, *args, **kwargs):
        if isinstance(kwargs.get("max_examples"), int):
            kwargs["max_examples"] = min(kwargs["max_examples"], EXAMPLES)
        set_up(self, *args, **kwargs)

    hypothesis.settings.__init__ = capped
    steady = {"derandomize": True, "database": None, "deadline": None}
    hypothesis.settings.register_profile("mutants", max_examples=EXAMPLES, **steady)
    hypothesis.settings.load_profile("mutants")


def likeliest_first(items: list, mutant: Mutant, kills: Kills) -> list:
    """Tests that have killed a mutant of the same function, then of the same module, then the quick ones."""
    near, far = kills.get((mutant.module, mutant.function), Counter()), kills.get((mutant.module,), Counter())

    def late(item):
        return -near[item.nodeid], -far[item.nodeid], item.path.name in LAST or hasattr(item.obj, "hypothesis")

    return sorted(items, key=late)


def hush() -> None:
    """In a child: no output, and an end to what runs on or grows."""
    quiet = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(quiet, stream)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    signal.setitimer(signal.ITIMER_PROF, MOST_S)
    builtins.CosmicRayTestingException = CosmicRayTestingException


def judge_early(mutant: Mutant, kills: Kills) -> str:
    hush()
    sys.meta_path.insert(0, MutatedFinder(mutant))
    watch = Early(mutant, kills)
    status = pytest.main([*ARGUMENTS, *test_files()], plugins=[watch])
    if not watch.killer and status != pytest.ExitCode.OK:
        return f"broken run, pytest ended with {int(status)}"
    return watch.killer


def tried_unchanged() -> tuple[str, set]:
    """What fails on calc as it is, and which functions run before any test does."""
    child, reading = fork(_judge_unchanged)
    said = judgement(reading, os.waitpid(child, 0)[1])
    return (said, set()) if isinstance(said, str) else said


def _judge_unchanged() -> tuple[str, set]:
    hush()
    watch = Watch()
    sys.setprofile(watch.note_call)
    status = pytest.main([*ARGUMENTS, *test_files()], plugins=[watch])
    return watch.killer or ("" if status == pytest.ExitCode.OK else f"pytest ends with {int(status)}"), watch.run_early


def fork(judge: Callable) -> tuple[int, int]:
    """A child that judges: its process id, and where to read its judgement."""
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    try:
        said = judge()
    except BaseException:
        said = f"broken run, {traceback.format_exc()}"
    with os.fdopen(writing, "wb") as pipe:
        pickle.dump(said, pipe)
    os._exit(0)


def judgement(reading: int, status: int):
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read()
    if said:
        return pickle.loads(said)  # noqa: S301 - written by our own child
    return "time" if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGPROF else f"broken run, {status}"


def judged(found: list[Mutant], kills: Kills, judge: Callable) -> dict[Mutant, str]:
    """What killed each mutant; nothing for a survivor."""
    waiting, running, killers = list(reversed(found)), {}, {}
    while waiting or running:
        while waiting and len(running) < AT_ONCE:
            mutant = waiting.pop()
            child, reading = fork(lambda mutant=mutant: judge(mutant))
            running[child] = mutant, reading
        child, status = os.wait()
        mutant, reading = running.pop(child)
        killer = killers[mutant] = judgement(reading, status)
        if "::" in killer:
            for near in ((mutant.module, mutant.function), (mutant.module,)):
                kills.setdefault(near, Counter())[killer] += 1
        if not killer:
            say(f"survives: calc/{mutant.module}.py:{mutant.line} {mutant.was}\n       as {mutant.becomes}")
    return killers


def say(text: str) -> None:
    print(text, file=sys.__stdout__, flush=True)


def killers_of(found: list[Mutant], run_early: set) -> dict[Mutant, str]:
    kills = {}
    late = [mutant for mutant in found if mutant.inside and (mutant.module, mutant.inside) not in run_early]
    early = [mutant for mutant in found if mutant not in set(late)]
    killers = judged(early, kills, lambda mutant: judge_early(mutant, kills))
    trials = Late(late, kills)
    with open(os.devnull, "w") as quiet, contextlib.redirect_stdout(quiet):
        pytest.main([*ARGUMENTS, *test_files()], plugins=[trials])
    return killers | trials.killers
