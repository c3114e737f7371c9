"""What holds for the house as a whole: imports run downward, packages are empty, importing does nothing."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

ROOT = Path(__file__).parents[1]
QUOTER = ROOT / "quoter"
MODULES = sorted(QUOTER.rglob("*.py"))
LONGEST_FILE, LONGEST_FUNCTION = 400, 60


def module_name(path: Path) -> str:
    """quoter.api.http.fields for quoter/api/http/fields.py."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def test_imports_run_downward_only():
    """The contracts of pyproject.toml."""
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == EXIT_STATUS_SUCCESS


@pytest.mark.parametrize("path", sorted(QUOTER.rglob("__init__.py")), ids=module_name)
def test_a_package_imports_nothing_by_itself(path: Path):
    """Import the module you mean."""
    assert path.read_text() == ""


LISTENING = """
import importlib, sys
watched = ("open", "os.", "sqlite3.", "socket.", "subprocess.", "shutil.")
done = []
def listen(event, arguments):
    if event.startswith(watched) and quoter_is_importing():
        done.append((event, str(arguments[:2])))
def quoter_is_importing():
    frame = sys._getframe(2)
    while frame is not None:
        if frame.f_code.co_name == "<module>":
            return frame.f_globals.get("__name__", "").startswith("quoter")
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return False
        frame = frame.f_back
    return False
sys.addaudithook(listen)
for name in sys.argv[1:]:
    importlib.import_module(name)
print(*done, sep="\\n", end="")
"""


def test_importing_touches_no_file_network_or_database():
    """Nothing happens before somebody calls something."""
    names = [module_name(path) for path in MODULES]
    done = subprocess.run(
        [sys.executable, "-c", LISTENING, *names], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout == ""


def test_no_file_is_longer_than_somebody_reads():
    """Above that, readers search instead."""
    assert {module_name(path) for path in MODULES if len(path.read_text().splitlines()) > LONGEST_FILE} == set()


def test_no_function_is_longer_than_a_screen():
    """Nor are most half as long."""
    lengths = [
        node.end_lineno - node.lineno + 1
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef) and node.end_lineno
    ]
    assert max(lengths) <= LONGEST_FUNCTION
    assert sorted(lengths)[len(lengths) * 95 // 100] <= LONGEST_FUNCTION / 2
