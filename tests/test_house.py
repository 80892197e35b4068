"""The house: imports go one way, start-up stays cheap, nothing lives where it doesn't belong."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
WALK = (
    *("grammar", "language", "rig", "working", "holding", "forces", "checking"),
    *("uses.mending", "uses.comparing", "uses.incident", "uses.ordering"),
    *("uses.procedure", "uses.field", "uses.teaching", "uses.review"),
    *("pages.tree", "pages.drawing", "pages.writers", "pages.writing"),
    *("doors.live", "doors.editor", "doors.desk", "doors.commands", "doors.notebook"),
)
"""The rooms along the walk from text to reader; a room imports only itself and rooms before it."""

HEAVY = (
    *("networkx", "graphviz", "rich", "clarabel", "numba", "numpy", "scipy", "jinja2", "hypothesis"),
    *("dask", "distributed", "tornado"),
    *("watchfiles", "shtab", "pygments", "pygls", "lsprotocol", "uvicorn", "starlette", "websockets"),
)

MOST_LINES, MOST_OF_A_FUNCTION = 500, 60
LARGE_FILES = {
    "analyser/forces/motion.py": "one failure followed from the rest before to what is told of it, read as one",
    "analyser/holding/solving.py": "the rules in one fixed point over columns, read beside rules.md",
    "analyser/language/explaining.py": "one case a wording; not yet parted",
    "analyser/uses/incident/sequences.py": "not yet parted",
    "analyser/uses/mending/ranking.py": "not yet parted",
}
"""Files of more than 500 lines, with the reason: none is added, others shrink it."""
LONG_FUNCTIONS = {
    "analyser/forces/assembling.py: _numbered": "one pass over the network that numbers everything; not yet parted",
    "analyser/forces/convex.py: solve": "one programme put together line by line, as statics.md states it",
    "analyser/holding/outcome.py: assess": "all scenarios of one state in one sweep",
    "analyser/language/broken_chains.py: chain": "one case a wording; not yet parted",
    "analyser/language/broken_numbers.py: number": "one case a wording; not yet parted",
    "analyser/language/explaining.py: _requirement": "one case a wording; not yet parted",
    "analyser/uses/ordering/orders.py: search": "one loop with its pruning",
}
"""Functions of more than 60 lines, with the reason: none is added, others shrink it."""


def room(module: str) -> str | None:
    """The room of a module, by its dotted name; None for what isn't ours."""
    names = module.split(".")
    if names[0] == "grammar":
        return "grammar"
    if names[0] != "analyser":
        return None
    if len(names) < 2:
        return "analyser"
    return ".".join(names[1:3]) if names[1] in ("uses", "pages", "doors") else names[1]


def test_one_module_of_a_name() -> None:
    names = Counter(path.stem for path in (ROOT / "analyser").rglob("*.py") if path.stem != "__init__")
    assert not {name: number for name, number in names.items() if number > 1}


def test_files_and_functions_are_short_or_say_why() -> None:
    files, functions = set(), set()
    for path in sorted((ROOT / "analyser").rglob("*.py")):
        name, text = path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        if len(text.splitlines()) > MOST_LINES:
            files.add(name)
        for node in ast.walk(ast.parse(text)):
            long = isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno >= MOST_OF_A_FUNCTION
            functions |= {f"{name}: {node.name}"} if long and isinstance(node, ast.FunctionDef) else set()
    assert (files, functions) == (set(LARGE_FILES), set(LONG_FUNCTIONS)), "and what is short now leaves the list"


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


@pytest.mark.parametrize("path", sorted((ROOT / "analyser").rglob("*.py")), ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_go_one_way(path: Path) -> None:
    own = room(".".join(path.relative_to(ROOT).with_suffix("").parts))
    if path.name == "__init__.py":
        return
    assert own in WALK, f"a room that is not on the walk: {own}"
    for module in imports_of(path):
        other = room(module)
        if other and other != "analyser":
            assert WALK.index(other) <= WALK.index(own), f"{path.name} imports {module}"
        assert not (own == "holding" and module.startswith(("rich", "lark", "graphviz"))), "holding knows no text"


def modules() -> dict[str, set[str]]:
    """Every module of the house with those of its own room that it imports, wherever in it and for whatever: but
    for the shape that a result is laid in, which knows the result, and what lays it."""
    names = {".".join(p.relative_to(ROOT).with_suffix("").parts): p for p in (ROOT / "analyser").rglob("*.py")}
    found: dict[str, set[str]] = {}
    for name, path in names.items():
        wanted = set(imports_of(path))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                wanted |= {f"{node.module}.{alias.name}" for alias in node.names}
        known = {one for one in wanted & set(names) if one != name and room(one) == room(name)}
        found[name] = {one for one in known if not one.endswith(("shapes", "contract"))}
    return found


def test_no_circle_of_imports_in_a_room() -> None:
    """Whoever reads a module can read what it stands on first: for types alone and within a function too."""
    left = modules()
    while ready := [name for name, wanted in left.items() if not wanted & set(left)]:
        for name in ready:
            del left[name]
    assert not left, "a circle among these: " + ", ".join(sorted(left))


CUTTING = ("startswith", "endswith", "split", "rsplit", "partition", "rpartition", "removeprefix", "removesuffix")
CUTS = {
    "language": "reads what a person typed",
    "rig/bench.py": "names on lines that could not be read, and `body.point` as typed",
    "rig/catalogue.py": "a kind as typed, for `did you mean`",
    "rig/present.py": "a body's ends are its points called head… and foot…, as the language says",
    "checking/calling.py": "failures as typed where a rig is asked about",
    "checking/contract.py": "the ways to attributes that a shape names",
    "checking/delivered.py": "the way to a document's rows",
    "working": "where a cluster is, as typed; the package of a module",
    "uses/field/found.py": "reads the file of a walk-down, as typed",
    "uses/field/leaving_out.py": "shows a line as typed, with single blanks",
    "uses/field/walk_sheet.py": "shows a line as typed, with single blanks",
    "uses/mending/beside.py": "how a further part is called, by what the one beside it is called",
    "uses/ordering/pasting.py": "lines of the file as typed, with the comments above them",
    "uses/review/sheet.py": "reads a review, as exported or typed",
    "uses/teaching/hearing.py": "hears an answer, as typed",
    "doors": "command lines, addresses and documents as typed",
    "pages": "text on its way to a page",
    "forces": "names of soft ends and of lines: to be values",
}
"""Where text may be cut, by file or folder, and why: everywhere else names, failures and facts are values that
know their pieces (`language/identities.py`), and nothing is decided by a prefix or a piece of a sentence."""


def test_nothing_cuts_text_to_know_what_it_means() -> None:
    cut: set[str] = set()
    for path in (ROOT / "analyser").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CUTTING:
                cut.add(path.relative_to(ROOT / "analyser").as_posix())
    unknown = {file for file in cut if not any(file == one or file.startswith(f"{one}/") for one in CUTS)}
    assert not unknown
    assert all(any(file == one or file.startswith(f"{one}/") for file in cut) for one in CUTS), "no longer needed"


def loaded_by(code: str) -> set[str]:
    command = f"{code}\nimport sys; print(' '.join(sys.modules))"
    run = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(run.stdout.split("\n")[-2].split())


def test_importing_the_package_loads_nothing_heavy() -> None:
    assert not loaded_by("import analyser") & {*HEAVY, "lark"}


def test_checking_as_json_loads_nothing_heavy() -> None:
    code = "import analyser; analyser.check(analyser.read('examples/litter-lower.rig')).to_json()"
    assert not loaded_by(code) & set(HEAVY)


def test_help_loads_no_command() -> None:
    code = "from analyser.doors.commands.main import parser\nparser().format_help()"
    assert not loaded_by(code) & {*HEAVY, "lark", "msgspec", "analyser.doors.commands.check"}


def test_the_options_of_every_command_load_nothing_heavy() -> None:
    """So that each command's own help, and the completion script, are quick."""
    code = "from analyser.doors.commands.main import COMMANDS, parser\nparser(*COMMANDS).format_help()"
    ours = {"analyser.checking.results", "analyser.rig.model", "analyser.language.parsing", "analyser.forces"}
    assert not loaded_by(code) & {*HEAVY, *ours, "lark", "msgspec", "json"}


def test_a_page_for_people_loads_no_encoder() -> None:
    code = "from analyser.doors.commands.main import main\nmain(['check', 'examples/litter-lower.rig'])"
    assert "msgspec" not in loaded_by(code)


def test_the_top_level_holds_what_belongs_there() -> None:
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False)
    names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "grammar", "analyser", "examples", "tests"}
    assert {name for name in names if not name.startswith(".")} <= allowed


def test_every_command_has_its_module_and_help() -> None:
    from analyser.doors.commands.main import COMMANDS, module, parser

    text = parser().format_help()
    for name in COMMANDS:
        assert (ROOT / "analyser" / "doors" / "commands" / f"{module(name)}.py").exists()
        assert name in text
