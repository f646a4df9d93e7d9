"""The rooms: one order, written in three places; every module stands in a room."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import stockopt

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "stockopt"
FLOOR = ["errors", "units", "settings"]
# Entry points and the check of the plan; not values on the line from tables to report.
BESIDE_THE_LINE = {"__main__", "plan_check", "plan_pieces"}


def contract_layers() -> list[str]:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (contract,) = config["tool"]["importlinter"]["contracts"]
    return [layer.removeprefix("stockopt.") for layer in reversed(contract["layers"])]


def docstring_rooms() -> list[str]:
    listed = re.findall(r"^\d+\. ([a-z_, ]+):", stockopt.__doc__, flags=re.MULTILINE)
    return [room.strip() for entry in listed for room in entry.split(",")]


def pipeline_rooms() -> list[str]:
    """Return the rooms in the order in which plan_fleet calls their verbs.

    What it calls in the pipeline itself stands for the calls made there, in their place.
    """
    tree = ast.parse((PACKAGE / "pipeline.py").read_text(encoding="utf-8"))
    room_of = {
        alias.name: node.module.split(".")[1]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("stockopt.")
        for alias in node.names
    }
    functions = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}

    def called(function: ast.FunctionDef) -> Iterator[str]:
        calls = [
            (node.lineno, node.col_offset, node.func.id)
            for node in ast.walk(function)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        ]
        for _, _, name in sorted(calls):
            if name in functions:
                yield from called(functions[name])
            elif name in room_of and name[0].islower():
                yield room_of[name]

    return list(dict.fromkeys(called(functions["plan_fleet"])))


def test_docstring_and_contract_tell_the_same_order():
    layers = [layer for layer in contract_layers() if layer not in BESIDE_THE_LINE]
    assert sorted(layers[:3]) == sorted(FLOOR)
    assert docstring_rooms()[3:] == layers[3:]


def test_pipeline_calls_the_rooms_in_that_order():
    line = [room for room in docstring_rooms() if room not in FLOOR]
    called = [room for room in pipeline_rooms() if room not in BESIDE_THE_LINE]
    assert called == line[: len(called)]
    assert called[-1] == "orders"


def test_every_module_stands_in_a_room():
    modules = {path.stem for path in PACKAGE.glob("*.py")} | {
        path.parent.name for path in PACKAGE.glob("*/__init__.py")
    }
    assert modules - {"__init__"} == set(contract_layers())


def test_imports_keep_the_direction():
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 kept, 0 broken" in done.stdout


def test_pulp_is_imported_in_the_program_room_only():
    users = {
        path.relative_to(PACKAGE).parts[0]
        for path in PACKAGE.rglob("*.py")
        if re.search(r"^\s*(import|from) pulp\b", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert users == {"program"}


def test_only_the_rooms_that_may_touch_files_do():
    allowed = {"fleet/read.py"}
    touching = re.compile(
        r"\bopen\(|\.read_text\(|\.write_text\(|\.read_bytes\(|\.write_bytes\("
        r"|read_csv\(|to_csv\(|read_excel\(|load_workbook\(|os\.replace\("
    )
    users = {
        str(path.relative_to(PACKAGE))
        for path in PACKAGE.rglob("*.py")
        if touching.search(path.read_text(encoding="utf-8"))
    }
    assert {user for user in users if not user.startswith(("report/", "books/"))} <= allowed


def test_files_and_functions_stay_small():
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        lines = text.count("\n")
        assert lines <= 400, f"{path.relative_to(ROOT)} has {lines} lines: split it by idea"
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                size = (node.end_lineno or node.lineno) - node.lineno
                assert size <= 60, f"{path.relative_to(ROOT)} {node.name}: {size} lines"
