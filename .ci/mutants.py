"""Changes the engine bit by bit and counts which changes no test notices (make mutants, ONLY=FILE for one module).

mutmut leaves functions with a decorator alone, and the heart of the engine is @remembered. So it is given a copy, in
build/mutants, where such a function gets its memory at the end of its module: `rule = remembered(rule)`.
"""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

ENGINE = Path("quoter/engine")
ROOM = Path("build/mutants")
COPIED = ("quoter", "rates", "shared", "tests", "pyproject.toml")
BROKEN = {1, 2}  # a test fails, or cannot even be collected
EXPLAINED = Path("tests/engine/equivalent_mutants.toml")
CORES = os.cpu_count() or 1
LEAST_KILLED = 0.85
NOTICED = {
    "killed",
    "killed at a second look",
    "timeout",
    "segfault",
}  # a change that never ends or breaks the process does not pass either
MUTMUT = [sys.executable, "-m", "mutmut"]
TESTS = "-x -q --tb=no --assert=plain -p no:cacheprovider --hypothesis-profile mutants tests/engine"
ALL_TESTS = [sys.executable, "-m", "pytest", *TESTS.split()]
REMEMBERED = re.compile(r"^@remembered\ndef (\w+)", re.MULTILINE)
NAME = re.compile(r"quoter\.engine\.(?P<module>\w+)\.x(?:_|ǁ)(?P<function>\w+)__mutmut_\d+")


def main(only: list[str]) -> int:
    """Runs what has changed since the last run, or the modules that are named, and sums it up."""
    lay_out()
    names = [f"quoter.engine.{Path(each).stem}.*" for each in only]
    failed = subprocess.run([*MUTMUT, "run", "--max-children", str(CORES), *names], cwd=ROOM).returncode
    return failed or summed_up(with_second_look(outcomes({Path(each).stem for each in only})))


def lay_out() -> None:
    """Copies what has changed, so that what has not need not be tried again."""
    files = [each for top in COPIED for each in (Path(top).rglob("*") if Path(top).is_dir() else [Path(top)])]
    for file in files:
        if file.is_dir() or "__pycache__" in file.parts:
            continue
        text, there = file.read_bytes(), ROOM / file
        if file.parent == ENGINE and file.suffix == ".py":
            text = with_memory_at_the_end(text.decode()).encode()
        if not there.exists() or there.read_bytes() != text:
            there.parent.mkdir(parents=True, exist_ok=True)
            there.write_bytes(text)
            if file.parent != ENGINE:
                (ROOM / "mutants" / file).unlink(missing_ok=True)  # mutmut copies only what it has not
    for gone in [each for each in ROOM.glob("tests/**/test_*.py") if not each.relative_to(ROOM).exists()]:
        gone.unlink()
        shutil.rmtree(ROOM / "mutants" / "tests", ignore_errors=True)


def with_memory_at_the_end(text: str) -> str:
    """The module, working as before, with no @remembered above a function."""
    bare = 'vars({0}).pop("__wrapped__", None)\n{0} = remembered({0})\n'  # unwrap() ends at the rule
    ends = [bare.format(rule) for rule in REMEMBERED.findall(text)]
    return "".join((REMEMBERED.sub(r"def \1", text), *ends))


def outcomes(modules: set[str]) -> dict[str, str]:
    """Each mutant's name with what became of it, as mutmut tells it; of some modules, or of all."""
    told = subprocess.run([*MUTMUT, "results", "--all", "true"], cwd=ROOM, capture_output=True, text=True, check=True)
    pairs = (line.strip().rsplit(": ", 1) for line in told.stdout.splitlines() if ": " in line)
    return {name: status for name, status in pairs if not modules or name.split(".")[2] in modules}


def with_second_look(found: dict[str, str]) -> dict[str, str]:
    """The same, where all tests have looked at those that survive and are not explained.

    mutmut asks those tests that called a function while it watched; what is worked out before a test begins it misses.
    """
    doubtful = [name for name, status in found.items() if status not in NOTICED and not reason_of(name)]
    looked_at = dict(found)
    with ThreadPoolExecutor(CORES) as pool:
        for place, (name, is_noticed) in enumerate(
            zip(doubtful, pool.map(is_noticed_by_all, doubtful), strict=True), start=1
        ):
            print(f"a second look at {place} of {len(doubtful)}: {name}", flush=True)
            if is_noticed:
                looked_at[name] = "killed at a second look"
    return looked_at


def is_noticed_by_all(name: str) -> bool:
    """Whether any test of the engine fails where this is changed."""
    environment = {**os.environ, "MUTANT_UNDER_TEST": name}
    return subprocess.run(ALL_TESTS, cwd=ROOM / "mutants", env=environment, capture_output=True).returncode in BROKEN


def summed_up(found: dict[str, str]) -> int:
    """Prints a row a file, the survivors and why, and the share that was killed; 1 where that is too little."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for name, status in found.items():
        counts[name.split(".")[2]][status] += 1
    for module, row in sorted(counts.items()):
        killed, total = sum(row[each] for each in NOTICED), row.total()
        print(f"{module + '.py':20} {killed:4} of {total:4} {killed / total:7.1%}  {dict(sorted(row.items()))}")
    unexplained = print_survivors(sorted(name for name, status in found.items() if status not in NOTICED))
    killed = sum(status in NOTICED for status in found.values())
    share = killed / len(found) if found else 0
    print(
        f"{killed} of {len(found)} changes were noticed: {share:.1%}; survivors without an explanation: {unexplained}"
    )
    return int(share < LEAST_KILLED)


def print_survivors(survivors: list[str]) -> int:
    """Prints what each changed and why that changes nothing, where it is known; the number of those where it is not."""
    reasons = {name: reason_of(name) for name in survivors}
    for name, reason in reasons.items():
        _, was, now = change(name)
        print(f"\n{name}\n  - {was}\n  + {now}\n  {reason or 'not explained'}")
    return sum(not reason for reason in reasons.values())


def reason_of(name: str) -> str | None:
    """Why nobody can notice the change, if that is known."""
    return explained().get(change(name))


@cache
def explained() -> dict[tuple[str, str, str], str]:
    """Reasons by function, the text before and the text after."""
    known = tomllib.loads(EXPLAINED.read_text())["mutant"]
    return {(each["where"], each["was"].strip(), each["now"].strip()): each["why"] for each in known}


@cache
def change(name: str) -> tuple[str, str, str]:
    """The function, the text before and the text after: they stay true where lines move."""
    shown = subprocess.run([*MUTMUT, "show", name], cwd=ROOM, capture_output=True, text=True, check=True).stdout
    lines = [line for line in shown.splitlines() if not line.startswith(("---", "+++", "#"))]
    was, now = (" ".join(line[1:].strip() for line in lines if line.startswith(sign)) for sign in "-+")
    place = NAME.fullmatch(name)
    return (f"{place['module']}.{place['function']}" if place else name), was, now


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
