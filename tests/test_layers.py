"""Imports point left only.

units, problems, arrays, cores, deadline, plausible, fasteners < algorithms, formulas < parts, job < read | checks <
candidates < bounds < search < explain < show < batch < cli.
"""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import combo

ROOT = Path(combo.__file__).parent
LAYERS = (
    {"", "units", "problems", "arrays", "cores", "deadline", "plausible", "fasteners", "starter"},
    {"algorithms", "formulas"},
    {"parts", "job"},
    {"read", "checks"},
    {"candidates"},
    {"bounds"},
    {"search"},
    {"explain"},
    {"show"},
    {"batch"},
    {"cli", "__main__"},
)
"""From the left to the right; "" is the package itself, which holds the version alone; starter holds no code."""
APART = {"read", "checks"}
HEAVY = ("pandas", "ortools", "pint", "openpyxl", "numpy", "distributed")
FILES = sorted(ROOT.rglob("*.py"))


def name_of(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(("combo", *(part for part in parts if part != "__init__")))


NAMES = {name_of(path) for path in FILES}


def layer_word(module):
    return f"{module}.".split(".")[1]


def rank(module):
    return next((i for i, words in enumerate(LAYERS) if layer_word(module) in words), None)


def imports(path):
    """Full names of what a file imports, wherever in it the import stands; `from combo import job` gives combo.job."""
    package = name_of(path).split(".")
    if path.name != "__init__.py":
        package = package[:-1]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            source = ".".join([*base, *([node.module] if node.module else [])])
            inner = {f"{source}.{alias.name}" for alias in node.names} & NAMES
            found |= inner or {source}
    return found


def own_imports(path):
    return {name for name in imports(path) if name.split(".")[0] == "combo"}


def importers(package):
    return {str(path.relative_to(ROOT)) for path in FILES if package in {name.split(".")[0] for name in imports(path)}}


def loaded_by(statement):
    code = f"{statement}\nimport sys\nprint(' '.join(name for name in {HEAVY!r} if name in sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT.parent)
    assert run.returncode == 0, run.stderr
    return run.stdout.split()


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_every_module_has_a_layer(path):
    assert rank(name_of(path)) is not None


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_imports_point_to_the_left_only(path):
    own = rank(name_of(path))
    assert {name for name in own_imports(path) if rank(name) is None or rank(name) > own} == set()


@pytest.mark.parametrize("path", [path for path in FILES if layer_word(name_of(path)) in APART], ids=name_of)
def test_read_and_checks_do_not_know_each_other(path):
    other = APART - {layer_word(name_of(path))}
    assert {name for name in own_imports(path) if layer_word(name) in other} == set()


@pytest.mark.parametrize("path", [path for path in FILES if layer_word(name_of(path)) == "formulas"], ids=name_of)
def test_formulas_know_no_pandas(path):
    assert "pandas" not in {name.split(".")[0] for name in imports(path)}


def test_only_units_imports_pint():
    assert importers("pint") == {"units.py"}


def test_only_the_model_and_the_packing_import_ortools():
    assert importers("ortools") == {str(Path("search", "sat.py")), str(Path("algorithms", "packing.py"))}


def test_only_the_cluster_imports_dask():
    assert importers("distributed") == {str(Path("batch", "cluster.py"))}


def test_importing_the_command_line_loads_nothing_heavy():
    assert loaded_by("import combo.cli") == []


def test_the_check_for_heavy_imports_sees_them():
    assert loaded_by("import pandas") == ["pandas", "numpy"]


def test_a_class_name_exists_once():
    names = [
        node.name
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
    ]
    assert sorted(names) == sorted(set(names))


def test_the_formatter_decides_the_form():
    told_off = [path for path in FILES if "# fmt:" in path.read_text(encoding="utf-8")]
    assert told_off == []
