"""The shape of the program, read from its imports: data flows one way, and knowledge is data."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import expert
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, read_yaml
from expert.places import shipped

PACKAGE = Path(expert.__file__).parent
FILES = {path.relative_to(PACKAGE).as_posix(): path for path in sorted(PACKAGE.rglob("*.py"))}
# Nothing on the left knows anything on the right; packages of one step do not know each other.
STEPS = (
    ("__init__",), ("made_when_used",),
    ("errors", "places", "csv_cells", "text_files", "user_folders", "host", "whole_file"),
    ("units",),
    ("physics",), ("plant", "knowledge"), ("inference",),
    ("procedure", "trend"), ("practice", "columns"), ("store", "report", "sites"),
    ("records", "rollout"), ("terminal", "author"), ("web",), ("cli",), ("__main__",),
)  # fmt: skip
STEP = {name: number for number, names in enumerate(STEPS) for name in names}
CORE = (
    *("errors", "places", "made_when_used", "units"),
    *("physics", "knowledge", "inference", "procedure"),
)
# Each of these libraries has one door, so that it can be replaced or left out.
DOORS = {
    "durable_rules_engine": {"inference/durable.py"},
    "durable": {"inference/durable.py"},
    "CoolProp": {"physics/fluids/coolprop_door.py"},
    "numpy": {
        "physics/fluids/build_tables.py", "physics/fluids/equilibrium.py",
        "author/comparison/by_columns.py",
        *(name for name in FILES if name.startswith(("trend/", "plant/", "columns/"))),
    },
    "pyarrow": {"columns/parquet.py"},
    "distributed": {"author/comparison/on_workers.py"},
    "scipy": set(),
    "lark": {"knowledge/grammar.py"},
    "prompt_toolkit": {"terminal/prompt.py"},
    "sqlite3": {name for name in FILES if name.startswith("store/")},
    "jinja2": {"report/render.py", "web/pages.py"},
    "starlette": {name for name in FILES if name.startswith("web/")},
    "uvicorn": {"web/serving.py"},
    "icalendar": {"records/calendar.py"},
    "sqlalchemy": {"store/postgres.py"},
    "argcomplete": {"cli/job/completion.py"},
    "cryptography": {"rollout/signing.py"},
}  # fmt: skip


MODULES = {f"expert/{name}" for name in FILES}


@cache
def trees() -> dict[str, ast.Module]:
    """Every file of the program as Python reads it, in the process that runs these tests."""
    return {name: ast.parse(path.read_text(encoding="utf-8"), name) for name, path in FILES.items()}


@cache
def imported(name: str, *, also_late: bool = True) -> tuple[tuple[str, int], ...]:
    """Modules that a file imports, with their lines; `also_late` counts those inside functions."""
    return tuple(_imported(trees()[name], name, also_late))


def _imported(tree: ast.AST, name: str, also_late: bool) -> Iterator[tuple[str, int]]:
    waiting: list[ast.AST] = [tree]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}:{node.lineno}: a relative import"
            module = node.module or ""
            yield module, node.lineno
            for alias in node.names:
                if f"{module}.{alias.name}".replace(".", "/") + ".py" in MODULES:
                    yield f"{module}.{alias.name}", node.lineno
        late = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        if also_late or not (late or _only_for_types(node)):
            waiting.extend(ast.iter_child_nodes(node))


def _only_for_types(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def package_of(module: str) -> str:
    """'knowledge' of 'expert.knowledge.load_rulebase', '__init__' of 'expert'."""
    return [*module.split("."), "__init__"][1]


# Inside these packages likewise: a folder, or a module beside the folders, knows only what stands
# to its left; those of one step do not know each other.
INNER_STEPS = {
    "author": (
        ("rule_tests", "files"), ("search", "what_if", "interview"), ("scenarios", "analysis"),
        ("mutation", "comparison"), ("coverage",), ("proposals",),
    ),
    "cli": (
        ("frame",), ("job",), ("calc",),
        ("checklist", "jobs", "refrigerant", "readings", "site", "practice"),
        ("rules", "company", "web"),
    ),
    "physics": (
        ("frame",), ("air", "fluids"),
        ("cycle", "electric", "frost", "leak_law", "liquid", "tightness"),
    ),
}  # fmt: skip


def step_of(name: str) -> int:
    top = name.split("/")[0].removesuffix(".py")
    assert top in STEP, f"{name} has no place in the order of packages"
    return STEP[top]


def test_a_module_knows_only_what_lies_before_it() -> None:
    wrong = []
    for name in FILES:
        own, step = name.split("/")[0].removesuffix(".py"), step_of(name)
        for module, line in imported(name):
            if module == "expert" or module.startswith("expert."):
                other = package_of(module)
                if other != own and STEP[other] >= step:
                    wrong.append(f"{name}:{line} imports {module}")
    assert wrong == []


@pytest.mark.parametrize("package", INNER_STEPS)
def test_a_folder_of_a_package_knows_only_what_lies_before_it(package: str) -> None:
    steps = {name: n for n, names in enumerate(INNER_STEPS[package]) for name in names}
    for name in FILES:
        top, *inside = name.removesuffix(".py").split("/")
        if top != package or inside == ["__init__"]:
            continue
        own = inside[0]
        assert own in steps, f"{name} has no place in the order of {package}"
        for module, line in imported(name):
            if not module.startswith(f"expert.{package}."):
                continue
            other = module.split(".")[2]
            assert other == own or steps[other] < steps[own], f"{name}:{line} imports {module}"


def test_a_package_that_has_folders_has_an_order_of_them() -> None:
    inside = {name.split("/")[0] for name in FILES if name.count("/") > 1}
    assert inside == set(INNER_STEPS)


def test_no_two_modules_know_each_other() -> None:
    """Not while they are imported, not later in a function, and not for the checker of types."""
    waits: dict[str, set[str]] = {}
    for name in FILES:
        module = ("expert/" + name).removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        needed = {m for m, _ in imported(name) if m.startswith("expert.")}
        waits[module] = {m for m in needed if m != module}
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


@pytest.mark.parametrize("library", DOORS)
def test_a_library_is_imported_by_its_one_door_only(library: str) -> None:
    found = {
        name for name in FILES for module, _ in imported(name) if module.split(".")[0] == library
    }
    assert found <= DOORS[library]


@pytest.mark.parametrize("library", ["durable_rules_engine", "CoolProp", "lark", "prompt_toolkit"])
def test_the_door_of_a_library_is_there(library: str) -> None:
    (door,) = DOORS[library]
    assert library in FILES[door].read_text(encoding="utf-8")


def test_heavy_libraries_are_imported_late_so_that_the_first_prompt_is_quick() -> None:
    for name in FILES:
        for module, line in imported(name, also_late=False):
            heavy = module.split(".")[0] in ("CoolProp", "durable_rules_engine")
            assert not heavy, f"{name}:{line} imports {module} when it is imported itself"


def test_the_core_reads_no_clock_terminal_or_environment() -> None:
    """Evaluation is a function of pack, site and readings, and of nothing else."""
    for name, tree in trees().items():
        if name.split("/")[0].removesuffix(".py") not in CORE:
            continue
        found = {module.split(".")[0] for module, _ in imported(name)}
        assert not found & {"curses", "readline", "termios", "socket", "random", "time"}, name
        called = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
        assert not called & {"input", "print", "open", "os.getenv"}, name
        assert "os.environ" not in FILES[name].read_text(encoding="utf-8"), name


TESTS = Path(__file__).parent
PYTHONS_OWN = ("__init__.py", "__main__.py", "conftest.py")  # Python and pytest ask for these


@pytest.mark.parametrize("top", [PACKAGE, TESTS], ids=["program", "tests"])
def test_no_two_modules_have_one_name(top: Path) -> None:
    """A name says what is in it, and a search for it finds one place."""
    found = Counter(path.name for path in top.rglob("*.py") if path.name not in PYTHONS_OWN)
    assert [name for name, count in found.items() if count > 1] == []


def test_no_two_classes_have_one_name() -> None:
    """Neither a private one that of a public one, nor one of the tests that of the program."""
    found: dict[str, list[str]] = {}
    for path in (*PACKAGE.rglob("*.py"), *TESTS.rglob("*.py")):
        for name in re.findall(r"^ *class _*(\w+)", path.read_text(encoding="utf-8"), re.M):
            found.setdefault(name, []).append(path.name)
    assert {name: where for name, where in found.items() if len(where) > 1} == {}


def test_modules_are_short() -> None:
    lines = {n: len(p.read_text(encoding="utf-8").splitlines()) for n, p in FILES.items()}
    assert {name: count for name, count in lines.items() if count > 400} == {}


# Keys whose texts are knowledge of the trade: faults, limits, cautions, procedures.
TOLD = {
    "causes": ("title", "is", "confirm", "do", "not_when", "text"),
    "limits": ("note",),
    "cautions": ("title", "say", "ask"),
    "rules": ("because",),
    "signs": ("says",),
    "gates": ("first",),
    "checklist": (
        "title",
        "purpose",
        "say",
        "why",
        "how",
        "instruct",
        "opens",
        "restore",
        "adjust",
    ),
}


@cache
def knowledge() -> tuple[str, ...]:
    """What `_knowledge` gives, read once."""
    return tuple(_knowledge())


def _knowledge() -> Iterator[str]:
    """Ids and sentences of every fault, limit, caution, rule and procedure that is shipped."""
    for folder in ("rulebase", "checklists"):
        for path in sorted(shipped(folder).rglob("*.yaml")):
            root = read_yaml(path)
            assert isinstance(root, Fields)
            for section, keys in TOLD.items():
                if section in root.fields:
                    yield from _texts(root.fields[section], (*keys, "id"))


def _texts(node: Node, keys: tuple[str, ...]) -> Iterator[str]:
    if isinstance(node, Items):
        for item in node.items:
            yield from _texts(item, keys)
    elif isinstance(node, Fields):
        for key, value in node.fields.items():
            for leaf in _leaves(value) if key in keys else ():
                yield " ".join(leaf.split())
            yield from _texts(value, keys)


def _leaves(node: Node) -> Iterator[str]:
    if isinstance(node, Text):
        yield node.text
    elif isinstance(node, Items):
        for item in node.items:
            yield from _leaves(item)


HELP = ("EXAMPLES", "DESCRIPTION")  # an example that can be typed names a checklist or a cause
STANDARD_TERMS = {"non-condensables"}  # the name of a calculation as well as of a fault


def strings(tree: ast.AST) -> Iterator[str]:
    """Every string of a module but docstrings and the examples of --help."""
    for node in ast.iter_child_nodes(tree):
        docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        target = node.targets[0] if isinstance(node, ast.Assign) else None
        if docstring or (isinstance(target, ast.Name) and target.id in HELP):
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield " ".join(node.value.lower().split())
        yield from strings(node)


def test_no_fault_limit_caution_or_procedure_of_the_knowledge_stands_in_python() -> None:
    # One word alone ('Ladders', an id such as 'judge') is a word of the language, not knowledge.
    texts = {text.lower() for text in knowledge() if len(re.split(r"[ -]", text)) > 1}
    texts -= STANDARD_TERMS
    long = [text for text in texts if " " in text and len(text) > 20]
    assert len(long) > 500
    found = []
    for name, tree in trees().items():
        told = "\n".join(strings(tree))
        ids = texts & set(re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", told))
        found += [f"{name}: {text}" for text in (*ids, *(t for t in long if t in told))]
    assert found == []


def test_the_search_for_knowledge_in_python_would_find_it() -> None:
    texts = set(knowledge())
    assert "defrost-differential-set-low" in texts
    assert any(text.startswith("Condensed hot gas leaves the coil") for text in texts)
