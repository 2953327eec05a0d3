"""Holds the arrows between the parts, and a few habits, by reading the code itself."""

import ast
import re
import subprocess
import sys
import tomllib
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PARTS = ("practice", "stock", "billing")
# What each part may import of ours. Entry points (project/, management commands, tests) may import all.
MAY_IMPORT = {
    "lib": {"lib"},
    "stock": {"lib", "stock"},
    "practice": {"lib", "stock", "practice"},
    "billing": {"lib", "stock", "practice", "billing"},
}


def code_of_the_program():
    return [path for part in PARTS for path in sorted((ROOT / part).rglob("*.py"))]


def part_of(module: str) -> str:
    """Return the part that a dotted module name belongs to; `lib` and `project` are parts of their own."""
    names = module.split(".")
    return names[1] if names[0] == "practice" and names[1:2] in (["lib"], ["project"]) else names[0]


def module_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def is_entry_point(module: str) -> bool:
    return part_of(module) == "project" or ".management." in module


def test_the_parts_of_modules_are_told_apart():
    modules = [
        "practice.lib.money",
        "practice.project",
        "practice.models.visit",
        "practice",
        "stock.rules.costing",
    ]

    assert [part_of(each) for each in modules] == ["lib", "project", "practice", "practice", "stock"]


def imports_of(path: Path, at_run_time: bool = False):
    """Yield the dotted names that a module imports, with the line of each; relative ones made absolute.

    `at_run_time` leaves out what stands under `if TYPE_CHECKING`.
    """
    nodes = list(ast.walk(parsed(path)))
    types_only = {
        inner
        for node in nodes
        if at_run_time and isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for statement in node.body
        for inner in ast.walk(statement)
    }
    for node in nodes:
        if node in types_only:
            continue
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = path.relative_to(ROOT).parts[: -node.level]
                base = ".".join([*package, *filter(None, [node.module])])
            for alias in node.names:
                yield f"{base}.{alias.name}", node.lineno


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def test_imports_run_downwards_only():
    upward = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in code_of_the_program()
        if not is_entry_point(module_of(path))
        for name, line in imports_of(path)
        if part_of(name) in {*PARTS, "lib", "project"}
        and name.split(".")[0] in PARTS
        and part_of(name) not in MAY_IMPORT[part_of(module_of(path))]
    ]

    assert upward == []


def test_no_two_modules_import_each_other_in_a_circle():
    """Imports inside functions count, as they only put a circle off. Those for types alone do not."""
    graph = {module_of(path): modules_imported_by(path) for path in code_of_the_program()}

    assert [" <-> ".join(circle) for circle in circles_in(graph)] == []


def test_every_module_that_is_imported_is_there():
    """Also those that are imported inside functions, which nothing else might look at for long."""
    packages = {module.rpartition(".")[0] for module in all_modules()}
    missing = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in code_of_the_program()
        for name, line in imports_of(path)
        if name.split(".")[0] in PARTS and not {name, name.rpartition(".")[0]} & (all_modules() | packages)
    ]

    assert missing == []


def test_circles_are_found_and_lines_are_not():
    graph = {"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": {"e"}, "e": set()}

    assert circles_in(graph) == [["a", "b", "c"]]


def modules_imported_by(path: Path) -> set[str]:
    """Return the modules of ours that this one imports: `from a import b` is `a.b` where that is a module."""
    ours = all_modules()
    names = {name for name, _ in imports_of(path, at_run_time=True)}
    named = {name if name in ours else name.rpartition(".")[0] for name in names}
    return (named & ours) - {module_of(path)}


@cache
def all_modules() -> set[str]:
    return {module_of(path) for path in code_of_the_program()}


def circles_in(graph: dict[str, set[str]]) -> list[list[str]]:
    """Return the strongly connected modules, sorted: each group whose members all reach one another."""
    reached = {module: reachable_from(module, graph) for module in graph}
    groups = {
        tuple(sorted({module, *(other for other in reached[module] if module in reached[other])}))
        for module in graph
    }
    return [list(group) for group in sorted(groups) if len(group) > 1]


def reachable_from(module: str, graph: dict[str, set[str]]) -> set[str]:
    reached, waiting = set(), [module]
    while waiting:
        for other in graph[waiting.pop()] - reached:
            reached.add(other)
            waiting.append(other)
    return reached


def rules_modules() -> list[Path]:
    return [path for path in code_of_the_program() if "rules" in path.parts]


def test_rules_name_no_model_no_query_and_nothing_of_django():
    """Rules are plain functions on plain values: they name other rules, and the pure part of `lib`."""
    named = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in rules_modules()
        for name, line in imports_of(path)
        if name.split(".")[0] == "django"
        or (name.split(".")[0] in PARTS and ".rules" not in name and part_of(name) != "lib")
    ]

    assert named == []


def test_rules_are_imported_without_django():
    """In a process of its own, with nothing set up: what they import imports nothing of Django either."""
    modules = sorted(module_of(path) for path in rules_modules())
    program = f"import importlib, sys; [importlib.import_module(each) for each in {modules!r}];"
    program += "print(*sorted(name for name in sys.modules if name.split('.')[0] == 'django'))"

    ended = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True)

    assert (ended.stderr, ended.stdout.split(), len(modules) > 15) == ("", [], True)


def test_what_makes_the_demo_is_loaded_for_the_demo_alone():
    """factory-boy and faker take their time: no page, no server and no import of a book waits for them."""
    demo = "practice.project.demo"
    loading = {
        module_of(path)
        for path in code_of_the_program()
        for name, _ in imports_of(path)
        if name.split(".")[0] in ("factory", "faker") or name.startswith(demo)
    }

    assert {module for module in loading if not module.startswith(demo)} == {
        "practice.management.commands.demo"
    }


# What may stand in the root of a part, beside its folders. Anything else has a room of its own.
IN_A_ROOT = {"__init__.py", "apps.py", "urls.py", "tables.py", "guards.py"}
ROOMS = {
    "practice": {
        *("actions", "forms", "lib", "management", "migrations", "models", "papers", "project"),
        *("reports", "rules", "static", "templatetags", "views"),
    },
    "stock": {"actions", "forms", "migrations", "models", "papers", "reports", "rules", "views"},
    "billing": {
        *("actions", "data", "forms", "management", "migrations", "models", "pack", "papers"),
        *("reports", "rules", "tables", "views"),
    },
}


@pytest.mark.parametrize("part", PARTS)
def test_the_root_of_a_part_holds_what_django_expects_there_and_the_rooms(part):
    files = [path.relative_to(ROOT / part).parts for path in (ROOT / part).rglob("*") if path.is_file()]
    files = [parts for parts in files if "__pycache__" not in parts]

    assert {parts[0] for parts in files if len(parts) == 1} - IN_A_ROOT == set()
    assert {parts[0] for parts in files if len(parts) > 1} - ROOMS[part] == set()


def test_a_class_name_means_one_thing():
    """No two classes share a name. One inside another has the other's name before it, as `Visit.Status`."""
    named_by_django = {"Meta", "Command", "Migration"}
    places = defaultdict(list)
    for path in code_of_the_program():
        for name, bare, line in classes_in(parsed(path)):
            if bare not in named_by_django:
                places[name].append(f"{path.relative_to(ROOT)}:{line}")
    inner = {name.rpartition(".")[2]: name for name in places if "." in name}

    assert {name: where for name, where in places.items() if len(where) > 1} == {}
    assert {name: inner[name] for name in places if name in inner} == {}


def classes_in(node, owner: str = ""):
    """Yield each class below a node: its name with its owner's, its bare name, its line."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.ClassDef):
            yield f"{owner}{child.name}", child.name, child.lineno
            yield from classes_in(child, f"{owner}{child.name}.")
        else:
            yield from classes_in(child, owner)


def test_migrations_do_not_depend_on_the_program_of_today():
    """A migration never changes what it does. `practice/project/furnish.py` brings what follows the code."""
    taken = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in code_of_the_program()
        if "migrations" in path.parts
        for name, line in imports_of(path)
        if name.split(".")[0] in PARTS and name != "practice.lib.fields"
    ]

    assert taken == []


def is_second(name: str) -> bool:
    """Tell whether a module belongs to the second reading, so that it is held to the same."""
    return name.startswith("tests.recomputed.")


def test_a_second_reading_of_the_rules_takes_nothing_from_the_program():
    """What is worked out a second time stands on files and the standard library, nothing of ours."""
    from sys import stdlib_module_names

    second = sorted((ROOT / "tests" / "recomputed").glob("*.py"))
    taken = {name.split(".")[0] for path in second for name, _ in imports_of(path) if not is_second(name)}
    names = ["__init__.py", "invoices.py", "sales_tax.py", "settlements.py", "year.py"]
    assert [path.name for path in second] == names
    assert taken - set(stdlib_module_names) == set()
    assert {name.split(".")[0] for name, _ in imports_of(second[-1])} == {
        "collections",
        "csv",
        "datetime",
        "decimal",
        "pathlib",
    }


def test_foreign_keys_point_downwards():
    """A lazy reference such as "billing.Invoice" is an import in disguise."""
    upward = []
    for path in code_of_the_program():
        part = part_of(module_of(path))
        if part == "project" or "migrations" in path.parts:
            continue
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "").endswith(
                ("ForeignKey", "Field")
            ):
                for value in [
                    *node.args[:1],
                    *[keyword.value for keyword in node.keywords if keyword.arg == "to"],
                ]:
                    named = value.value.split(".")[0] if is_text(value) and "." in value.value else None
                    if named in PARTS and named not in MAY_IMPORT[part]:
                        upward.append(f"{path.relative_to(ROOT)}:{node.lineno} points to {value.value}")

    assert upward == []


def is_text(node) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def test_only_the_standard_library_is_needed_before_the_environment_is_there():
    early = [
        "manage.py",
        "practice/__init__.py",
        "practice/project/__init__.py",
        "practice/project/bootstrap.py",
        "practice/lib/__init__.py",
        "practice/lib/locks.py",
    ]
    early += [f"practice/project/{name}.py" for name in ("exits", "room", "system")]
    needed = {
        name.split(".")[0]
        for path in early
        for node in parsed(ROOT / path).body
        for name, _ in imports_of_node(node)
    }

    from sys import stdlib_module_names

    assert needed - set(stdlib_module_names) == {"practice"}


def imports_of_node(node):
    if isinstance(node, ast.Import):
        return [(alias.name, node.lineno) for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        return [(node.module, node.lineno)]
    return []


# Chances, and means and drawings made of them, are binary floats; what is ordered of them is exact again.
# Trigonometry is done in binary floats by a library: the geodesic module hands them over and rounds at once.
FLOATS_IN = {
    "practice/lib/charts.py",
    "practice/lib/formats.py",
    "practice/lib/geodesic.py",
    "practice/lib/plain.py",
    "practice/reports/load_list.py",
    "practice/reports/reason.py",
    "practice/templatetags/practice_format.py",
    "stock/rules/distributions.py",
    "stock/rules/planning.py",
    "stock/reports/demand.py",
    "stock/reports/reorder.py",
}


def test_no_binary_float_comes_near_money_quantity_or_distance():
    """No FloatField, no DecimalField (a float on SQLite), no float literal, and float only to refuse one."""
    found = []
    for path in code_of_the_program():
        if is_entry_point(module_of(path)) or path.relative_to(ROOT).as_posix() in FLOATS_IN:
            continue
        nodes = list(ast.walk(parsed(path)))
        refused = {part for node in nodes if is_call_of(node, "isinstance") for part in ast.walk(node)}
        in_models = "models" in path.parts or "migrations" in path.parts
        for node in nodes:
            name = getattr(node, "attr", None) or getattr(node, "id", None)
            wrong = name == "FloatField" or (name == "DecimalField" and in_models)
            wrong = wrong or (name == "float" and node not in refused)
            if wrong or (isinstance(node, ast.Constant) and isinstance(node.value, float)):
                found.append(f"{path.relative_to(ROOT)}:{node.lineno}")

    assert found == []


def test_every_form_that_is_sent_carries_its_uuid():
    """Sent twice, it is saved once (practice/project/sent_forms.py). A login saves nothing."""
    wrong = []
    for path in sorted((ROOT / "templates").rglob("*.html")):
        forms = re.findall(
            r"<form\b[^>]*method=\"post\".*?</form>", path.read_text(), re.DOTALL | re.IGNORECASE
        )
        if path.name != "login.html" and any(form.count("{% press %}") != 1 for form in forms):
            wrong.append(path.relative_to(ROOT).as_posix())

    assert wrong == []


# The book's own files are read back byte for byte, and the demo's rows are imported.
WRITE_CSV = (
    "practice/lib/spreadsheet_cells.py",
    "practice/project/book/",
    "practice/management/commands/demo.py",
)


def test_every_csv_file_for_a_spreadsheet_is_written_without_formulas():
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in code_of_the_program()
        if not path.relative_to(ROOT).as_posix().startswith(WRITE_CSV)
        for node in ast.walk(parsed(path))
        if is_call_of(node, "writer") or is_call_of(node, "DictWriter")
    ]

    assert found == []


def is_call_of(node, name: str) -> bool:
    """Whether a node calls `name`, bare or as an attribute."""
    function = getattr(node, "func", None)
    return name in (getattr(function, "id", None), getattr(function, "attr", None))


def test_a_bare_number_never_meets_an_exact_field_in_a_query():
    """`F("total") - 1` would count a millionth: a number goes in as exact(1)."""
    found = []
    for path in code_of_the_program():
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub):
                sides = [node.left, node.right]
                if any(is_call_of(side, "F") for side in sides) and any(is_number(side) for side in sides):
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno}")

    assert found == []


# What belongs to one country. `ACTUAL_ONLY` is no country's: it is what a practice without rates has.
OF_A_COUNTRY = {"US", "GB", "AU", "us_standard", "uk_simplified", "au_cents_per_km", "Schedule C"}
NAMED_COUNTRY = r"(country|country\.code|mileage_scheme|scheme\.name)\s*(==|!=|in\b)|Schedule C|\bis_us\b"


def test_no_module_knows_a_country_by_name():
    """Whatever differs between countries is asked of a `Country`, never told from its code."""
    may = {"practice/lib/countries.py", "practice/project/demo/scenario.py"}
    found = []
    for path in code_of_the_program():
        if path.relative_to(ROOT).as_posix() in may or "migrations" in path.parts:
            continue
        found += [
            f"{path.relative_to(ROOT)}:{node.lineno} says {node.value}"
            for node in ast.walk(parsed(path))
            if is_text(node) and node.value in OF_A_COUNTRY
        ]
        found += [
            f"{path.relative_to(ROOT)}:{line} imports {name}"
            for name, line in imports_of(path)
            if name.startswith("practice.lib.countries.")
            and name.split(".")[-1].isupper()
            and not name.endswith(".ACTUAL_ONLY")
        ]
    templates = [path for path in files_in_the_repository(".html") if "templates" in path.parts]

    assert found == []
    assert lines_matching(NAMED_COUNTRY, templates) == []


@pytest.mark.parametrize("line", ['{% if profile.country == "US" %}', "as Schedule C asks"])
def test_a_template_that_knows_a_country_is_recognised(line):
    assert re.search(NAMED_COUNTRY, line)


def is_number(node) -> bool:
    """Whether a node is a number as written: 1, -1, 1.5, Decimal("1")."""
    if isinstance(node, ast.UnaryOp):
        node = node.operand
    if isinstance(node, ast.Call):
        return getattr(node.func, "id", "") == "Decimal"
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def test_no_test_is_skipped_or_expected_to_fail():
    words = {"skip", "skipif", "xfail", "importorskip", "skipTest", "skipUnless", "skipIf", "expectedFailure"}
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.attr}"
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Attribute) and node.attr in words
    ]

    assert found == []


def files_in_the_repository(*suffixes: str):
    """Return the files of ours: no hidden folders but .ci, and not the data folder."""
    folders = [path for path in ROOT.iterdir() if path.is_dir() and path.name != "data"]
    folders = [path for path in folders if path.name == ".ci" or not path.name.startswith(".")]
    files = [path for path in ROOT.iterdir() if path.is_file()]
    files += [path for folder in folders for path in folder.rglob("*") if path.is_file()]
    return sorted(path for path in files if path.name.endswith(suffixes))


def lines_matching(pattern: str, paths):
    expression = re.compile(pattern, re.IGNORECASE)
    return [
        f"{path.relative_to(ROOT)}:{number} {line.strip()[:80]}"
        for path in paths
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if expression.search(line)
    ]


INLINE = r"<style|\sstyle\s*=|<script(?![^>]*\ssrc=)|\son\w+\s*=|javascript:|hx-on|hx-vals\s*=\s*['\"]js:"


@pytest.mark.parametrize(
    "line",
    [
        '<p style="color: red">',
        "<style>",
        "<script>alert(1)</script>",
        '<a onclick="x()">',
        '<a href="javascript:x()">',
    ],
)
def test_inline_style_and_script_are_recognised(line):
    assert re.search(INLINE, line, re.IGNORECASE)


def test_no_template_carries_inline_style_or_script():
    """The Content-Security-Policy would stop them. Paper has no such policy, but no need of them either."""
    templates = [path for path in files_in_the_repository(".html") if "templates" in path.parts]

    assert lines_matching(INLINE, templates) == []


def test_templates_are_formatted():
    """One element a line, two spaces: `djangofmt templates` does it."""
    formatter = Path(sys.executable).with_name("djangofmt")
    ended = subprocess.run([formatter, "--check", "templates"], cwd=ROOT, capture_output=True, text=True)

    assert ended.returncode == 0, ended.stderr


def test_no_line_of_a_template_is_wider_than_120_characters():
    wide = r"^.{121,}$"

    assert lines_matching(wide, files_in_the_repository(".html")) == []


def test_each_refusal_has_a_code():
    """`RuleBroken("visit_locked", "This visit …")`: programs read the code, people the message."""
    calls = [
        (path, node)
        for path in code_of_the_program()
        for node in ast.walk(parsed(path))
        if is_call_of(node, "RuleBroken")
    ]

    assert calls
    assert [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path, node in calls
        if not re.fullmatch(r"[a-z]+(_[a-z0-9]+)*", str(getattr(node.args[0], "value", "")))
    ] == []


COLOUR = r"#[0-9a-f]{3,8}\b|\b(?:rgb|hsl|oklch|oklab|lab|lch|hwb)a?\("


def test_colours_stand_only_in_the_token_and_paper_stylesheets():
    may = {"tokens.css", "print.css"}
    sheets = [path for path in files_in_the_repository(".css") if path.name not in may]
    scripts = files_in_the_repository(".js")

    assert lines_matching(COLOUR, sheets + scripts) == []


def test_nothing_points_outside_the_repository():
    """Whoever has the repository has everything: no file names a folder beside it or of some machine."""
    pattern = r"\.\./shar" + r"ed|(?<![\w/])/(wo" + r"rk|ro" + r"ot|ho" + r"me)/\w"
    suffixes = (".py", ".md", ".html", ".css", ".js", ".toml", ".txt", ".svg", ".csv", "run")

    assert lines_matching(pattern, files_in_the_repository(*suffixes)) == []


def test_only_benchmarks_read_a_clock():
    """A test that asserts a time fails on a busy machine; `processes.py` sees that a process ends at all,
    `conftest.py` gives up a click that is not answered, `prepared.py` kills commands at moments spread over
    how long they take.

    `test_evening.py` taps once a second and prints how long the evening took; it asserts no time.
    """
    clocks = {"perf_counter", "perf_counter_ns", "process_time", "process_time_ns", "monotonic", "time_ns"}
    reading = {
        f"{path.relative_to(ROOT)}"
        for path in (ROOT / "tests").rglob("*.py")
        if "benchmarks" not in path.parts
        for node in ast.walk(parsed(path))
        if (isinstance(node, ast.Attribute) and node.attr in clocks)
        or (isinstance(node, ast.ImportFrom) and {alias.name for alias in node.names} & clocks)
    }

    assert reading == {
        "tests/conftest.py",
        "tests/prepared.py",
        "tests/processes.py",
        "tests/test_evening.py",
    }


def test_benchmarks_run_only_where_their_folder_is_named():
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["pytest"]["ini_options"]

    assert "benchmarks" in settings["norecursedirs"]
    unmarked = [
        path.name
        for path in (ROOT / "tests" / "benchmarks").glob("test_*.py")
        if "pytestmark = pytest.mark.benchmark" not in path.read_text()
    ]
    assert unmarked == []
