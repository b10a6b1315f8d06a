"""What must not be loaded on the way to saturation, superheat and set points."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
HEAVY = ("CoolProp", "numpy", "scipy", "teqp")
WORK = """
import sys
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.uncertainty import propagate
context = Context("R-449A")
values = {"pressure": 2e5, "line_temperature": 270.0}
propagate(CATALOG["superheat"], context, values, {"pressure": 1e3})
liquid = {"pressure": 25e5, "line_temperature": 320.0}
propagate(CATALOG["subcooling"], Context("R-407F"), liquid, {})
CATALOG["suction_set_point_design"].compute(
    context, air_temperature=270.0, coil_temperature_difference=5.0, line_drop=1e4
)
CATALOG["regulator_holding_pressure_mid"].compute(context, coil_temperature=265.0)
print([name for name in %r if name in sys.modules])
"""


def run(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    return done.stdout.strip()


def test_saturation_superheat_and_set_points_load_no_heavy_library() -> None:
    assert run(WORK % (HEAVY,)) == "[]"


def test_the_check_would_notice_a_heavy_library() -> None:
    assert "numpy" in run("import numpy\n" + WORK % (HEAVY,))


def test_only_one_module_of_the_package_imports_coolprop() -> None:
    named = [p for p in (ROOT / "expert").rglob("*.py") if "CoolProp" in p.read_text("utf-8")]
    found = [path.name for path in named if "CoolProp" in imported(path)]
    assert found == ["coolprop_door.py"]


def imported(path: Path) -> set[str]:
    """Top names of what a file imports anywhere in it."""
    nodes = list(ast.walk(ast.parse(path.read_text("utf-8"))))
    names = [alias.name for n in nodes if isinstance(n, ast.Import) for alias in n.names]
    names += [n.module or "" for n in nodes if isinstance(n, ast.ImportFrom)]
    return {name.split(".")[0] for name in names}
