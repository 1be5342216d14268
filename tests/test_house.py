"""The house stays liveable: imports run one way, modules stay short, every name is given on."""

from __future__ import annotations

import ast
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "trendwear"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "bundled_files" not in path.parts)
PAGES = sorted((ROOT / "dashboards").glob("*.py"))

FLOORS: dict[str, int] = {
    "errors": 0,
    "lengths": 0,
    "wording": 0,
    "bundled": 0,
    "progress": 0,
    "tables": 0,
    "planning_tables": 0,
    "dimension_tables": 0,
    "history_tables": 0,
    "limit_steps": 0,
    "readings": 1,
    "rules_of_thumb": 1,
    "derived": 1,
    "store": 2,
    "segments": 2,
    "wear": 2,
    "fit": 3,
    "trust": 4,
    "forecasting": 5,
    "planning": 6,
    "parts": 6,
    "bench": 6,
    "hindsight": 6,
    "report": 7,
    "outlook": 8,
    "demo_plant": 8,
    "dashboard_server": 8,
    "verbs": 8,
    "what_waits": 8,
    "drafting": 8,
    "other_cases": 8,
    "issued_plans": 8,
    "plan_comparison": 8,
    "cli": 9,
    "__main__": 10,
}
"""How high each room stands: it may use what stands lower, never what stands higher."""

FORBIDDEN = {
    "derived": {"store", "segments"},
    "segments": {"store", "readings"},
    "wear": {"store", "readings", "segments"},
    "fit": {"store", "readings"},
    "trust": {"store", "readings"},
    "forecasting": {"store", "readings"},
    "planning": {"store", "readings"},
    "parts": {"store", "readings"},
    "bench": {"store", "readings"},
    "hindsight": {"store", "readings"},
    "report": {"store"},
    "store": {"segments", "fit", "wear", "forecasting"},
}
"""Rooms that must not know each other although one stands lower."""


def _room(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "trendwear"


def _imports(path: Path) -> set[str]:
    """Names of the modules that a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            if node.module == "trendwear":
                found |= {f"trendwear.{name.name}" for name in node.names}
    return found


def _name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def _arrows() -> list[tuple[str, str]]:
    """Pairs (module, trendwear module it imports), the package's own front door left out."""
    return [
        (_name(path), wanted)
        for path in MODULES
        if path != PACKAGE / "__init__.py"
        for wanted in sorted(_imports(path))
        if wanted.startswith("trendwear.") and _room(wanted) in FLOORS
    ]


def test_every_room_has_a_floor() -> None:
    rooms = {_room(_name(path)) for path in MODULES} - {"__init__"}
    assert rooms <= set(FLOORS)


def test_no_import_runs_upward() -> None:
    upward = [
        f"{module} -> {wanted}"
        for module, wanted in _arrows()
        if FLOORS[_room(wanted)] > FLOORS[_room(module)]
    ]
    assert upward == []


def test_rooms_that_must_not_know_each_other_do_not() -> None:
    broken = [
        f"{module} -> {wanted}"
        for module, wanted in _arrows()
        if _room(wanted) in FORBIDDEN.get(_room(module), set())
    ]
    assert broken == []


def test_no_circle() -> None:
    arrows: dict[str, set[str]] = {}
    for module, wanted in _arrows():
        arrows.setdefault(module, set()).add(wanted)

    def reaches(start: str) -> set[str]:
        seen: set[str] = set()
        open_ends = [start]
        while open_ends:
            for wanted in arrows.get(open_ends.pop(), set()) - seen:
                seen.add(wanted)
                open_ends.append(wanted)
        return seen

    assert [module for module in arrows if module in reaches(module)] == []


def test_only_the_store_and_the_files_know_duckdb() -> None:
    knowing = {_name(path) for path in MODULES if "duckdb" in _imports(path)}
    allowed = ("trendwear.store.", "trendwear.readings.", "trendwear.report.export")
    assert [module for module in knowing if not module.startswith(allowed)] == []


def test_the_package_does_not_know_streamlit() -> None:
    assert [_name(path) for path in MODULES if "streamlit" in _imports(path)] == []


@pytest.mark.parametrize("path", [*MODULES, *PAGES], ids=_name)
def test_modules_stay_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


@pytest.mark.parametrize(
    "path", [path for path in MODULES if path.name != "__main__.py"], ids=_name
)
def test_names_given_on_exist(path: Path) -> None:
    module = importlib.import_module(_name(path).removesuffix(".__init__"))
    assert [name for name in getattr(module, "__all__", []) if not hasattr(module, name)] == []


def test_help_is_light() -> None:
    code = (
        "import sys; sys.argv = ['trendwear', '--help']\n"
        "from trendwear.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'statsmodels', 'streamlit', 'pandas', 'duckdb'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or None)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
