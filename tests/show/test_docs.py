"""The documentation is run: every command in it, every screen it shows, every option, table and module that it lists.

Parts between `<!-- written: NAME -->` and `<!-- end -->`, and the output under each `$` line of a console block, are
what the program itself says; `pytest --accept` writes them anew.
"""

import ast
import doctest
import graphlib
import inspect
import io
import itertools
import re
import shlex
import shutil
import textwrap
import tomllib
from functools import cache
from pathlib import Path
from unittest import mock

import pytest
from command import run

import advisor
from advisor.asked import shop
from advisor.asked.shop_keys import shop_tables
from advisor.commands import register
from advisor.commands.arguments import Parser
from advisor.commands.on_a_callout import OPTIONS

ROOT = Path(__file__).parent.parent.parent
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
COMMAND_PAGE = ROOT / "advisor" / "COMMANDS.md"
PAGES = [README, DEVELOPERS, COMMAND_PAGE, *(ROOT / name / "README.md" for name in ("cases", "rules", "tests"))]
WRITTEN = re.compile(r"(<!-- written: ([a-z ]+) -->\n).*?(<!-- end -->)", re.S)
CONSOLE = re.compile(r"(```console\n)(.*?)(```)", re.S)
COMMANDS = {name: register.parser(name) for name in register.NAMES}


def read(page):
    return page.read_text(encoding="utf-8")


# ---- what the program says of itself


def _options():
    """Every command with its own arguments; what all commands on a callout share is told once."""
    shared = {f"--{name}": meaning for names in OPTIONS.values() for name, meaning in names.items()}
    lines = [
        "| on a callout, as in a case file | |",
        "|---|---|",
        *(f"| `{name}` | {_cell(text)} |" for name, text in shared.items()),
    ]
    for name, command in COMMANDS.items():
        lines += ["", f"| `turn-radius {name}` | {_summary(name)} |", "|---|---|"]
        takes_callout = shared.keys() <= command.options().keys()
        for action in command._actions:
            names = [
                option for option in action.option_strings if option not in shared and option not in ("-h", "--help")
            ]
            if not action.option_strings:
                names = [action.metavar or action.dest]
            if names:
                lines.append(f"| `{', '.join(names)}` | {_cell(action.help)} |")
        if takes_callout:
            lines.append("| and all that a callout takes | see above |")
    return "\n".join(lines)


def _commands_in_lines():
    """Every command with what it is for."""
    lines = ["| `turn-radius` | |", "|---|---|"]
    return "\n".join([*lines, *(f"| `{name}` | {_summary(name)} |" for name in COMMANDS)])


def _cell(text):
    return (text or "").replace("|", "\\|").replace("%%", "%")


def _summary(name):
    return _cell(register.command(name).HELP)


def _shop_tables():
    """Every table of a shop file: what it is, its keys with what they mean, and which of them have to be there."""
    lines = []
    for name, table in shop_tables().items():
        kind = shop.KINDS.get(name)
        heading = table.heading if table.heading.startswith("at") else f"`{table.heading}`"
        lines.append(f"- **{heading}** {table.about}")
        if kind is None:
            continue
        must = [key for key, (_, needed) in shop.keys_of(kind).items() if needed]
        for words, some in (("must have", must), ("may have", [k for k in table.keys if k not in must])):
            if some:
                told = "; ".join(f"`{key}`, {table.keys[key].meaning}" for key in some)
                lines += textwrap.wrap(f"It {words} {told}.", 118, initial_indent="  ", subsequent_indent="  ")
    return "\n".join(lines)


def _rule_files():
    """Every file of the rule base: how many rules, steps and cautions it has, and what it is about."""
    lines = ["| file | rules | about |", "|---|---|---|"]
    for path in sorted((ROOT / "rules").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        parsed = tomllib.loads(text)
        count = sum(
            len(parsed.get(kind, ())) for kind in ("rule", "step", "caution") if isinstance(parsed.get(kind), list)
        )
        about = " ".join(line.lstrip("# ") for line in text.split("\n\n")[0].splitlines() if line.startswith("#"))
        lines.append(f"| `{path.name}` | {count or ''} | {_cell(re.split(r'(?<=[.]) ', about)[0])} |")
    return "\n".join(lines)


SECTIONS = {"options": _options, "commands": _commands_in_lines, "shop tables": _shop_tables, "rule files": _rule_files}


# ---- the pages as they ought to be


def _fresh(text, folder):
    text = WRITTEN.sub(lambda found: f"{found[1]}{SECTIONS[found[2]]()}\n{found[3]}", text)
    return CONSOLE.sub(lambda found: f"{found[1]}{_console(found[2], folder)}{found[3]}", text)


def _console(block, folder):
    """A console block with the output of each of our commands as it is now; one without output stays without."""
    parts = re.split(r"(?m)^(?=\$ )", block)
    return "".join(_shown(part) if part.startswith("$ turn-radius ") else part for part in parts)


def _shown(part):
    command, output = _split(part)
    if not output.strip():
        return part
    told = _run(command, _typed(output)).out
    *_, last, cut = ["", "", *output.rstrip().splitlines()]
    if cut == "...":  # shown as far as the line before it
        told = f"{told[: told.index(last) + len(last)]}\n...\n\n"
    return f"{part[: len(part) - len(output)]}{told}"


def _typed(output):
    """The lines that somebody typed in what a block shows."""
    return tuple(line.removeprefix("> ") for line in output.splitlines() if line.startswith("> "))


def _split(part):
    """Command and output of one part of a console block; a line that ends in a backslash goes on."""
    lines = part.splitlines(keepends=True)
    count = next(n for n, line in enumerate(lines, 1) if not line.rstrip().endswith("\\"))
    command = "".join(lines[:count]).replace("\\\n", " ").removeprefix("$ ")
    return command.strip(), "".join(lines[count:])


@cache
def _run(command, typed=()):
    lines = "".join(f"{line}\n" for line in typed)
    with mock.patch("sys.stdin", io.TextIOWrapper(io.BytesIO(lines.encode()), encoding="utf-8")):
        return run(*shlex.split(command.split("|")[0].split(">")[0])[1:])


def _commands(page):
    """Our commands in the console blocks of a page."""
    for part in _parts(page):
        yield _split(part)[0]


def _parts(page):
    """The parts of its console blocks that begin with a command."""
    for block in CONSOLE.findall(read(page)):
        for part in re.split(r"(?m)^(?=\$ )", block[1]):
            if part.startswith("$ "):
                yield part


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder like a checkout, in which commands may write, with the list that the README shows."""
    for name in ("rules", "cases"):
        shutil.copytree(ROOT / name, tmp_path / name)
    (tmp_path / "my-list.csv").write_text(re.search(r"```csv\n(.*?)```", read(COMMAND_PAGE), re.S)[1], encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "records.sqlite3"))
    _run.cache_clear()
    return tmp_path


@pytest.mark.parametrize("page", PAGES, ids=lambda page: f"{page.parent.name}/{page.name}")
def test_pages_say_what_the_program_says(page, folder, golden):
    golden(page, _fresh(read(page), folder))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: f"{page.parent.name}/{page.name}")
def test_every_command_works(page, folder):
    for command, output in map(_split, _parts(page)):
        if command.startswith("turn-radius "):
            ran = _run(command, _typed(output))
            assert ran.status in (0, 1), (command, ran.complaint)
        elif command.startswith("make "):
            for target in command.split()[1:]:
                assert "=" in target or re.search(rf"(?m)^{target}:", read(ROOT / "Makefile")), command
        else:
            assert command.split()[0] in (
                "cd",
                "git",
                "python3",
                "python",
                ".venv/bin/pip",
                ".venv/bin/turn-radius",
                "pytest",
            ), command


def test_the_readme_has_the_two_commands_and_the_way_without_make():
    commands = list(_commands(README))
    assert "make advise" in commands and "`make test`" in read(README)
    assert any("pip" in command for command in commands)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_its_own_words(name):
    """Beside the list of options: a console block that shows it."""
    assert any(command.split()[:2] == ["turn-radius", name] for command in _commands(COMMAND_PAGE)), (
        f"COMMANDS.md shows no turn-radius {name}"
    )


def test_every_option_is_on_the_page_of_commands():
    text = read(COMMAND_PAGE)
    for command in COMMANDS.values():
        for name, action in Parser.options(command).items():
            assert name == "--help" or f"`{name}`" in text or f"{name}`" in text, name
            assert name == "--help" or action.help, name


@pytest.mark.parametrize("page", PAGES, ids=lambda page: f"{page.parent.name}/{page.name}")
def test_what_is_written_by_the_program_is_there(page):
    assert set(dict.fromkeys(found[1] for found in WRITTEN.findall(read(page)))) <= set(SECTIONS)
    assert {name for page in PAGES for _, name, _ in WRITTEN.findall(read(page))} == set(SECTIONS)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: f"{page.parent.name}/{page.name}")
def test_links_and_paths_lead_somewhere(page):
    text = read(page)
    for target in re.findall(r"\]\(([^)#]+)", text):
        assert target.startswith("http") or (page.parent / target).exists(), target
    for path in re.findall(r"`((?:advisor|rules|cases|tests)/[\w./-]*)`", text):
        assert (ROOT / path).exists(), path


def test_every_table_and_key_of_a_shop_file_is_told_and_no_other():
    for name, kind in shop.KINDS.items():
        assert set(shop_tables()[name].keys) == {*shop.keys_of(kind), *kind.also}, name
    others = set(shop_tables()) - set(shop.KINDS)
    assert others == {"inch_tolerances", "limits", "minutes", "spreads"} <= set(shop.keys_of(shop.Shop))


def test_the_readme_is_short():
    assert len(read(README).encode()) <= 12_000


def test_the_readme_says_what_the_numbers_are_not():
    text = read(README).lower()
    for word in ("estimate", "instruction", "manual", "shop's rules"):
        assert word in text


def test_the_page_on_python_does_what_it_shows():
    ran = doctest.testfile(str(ROOT / "advisor" / "README.md"), module_relative=False)
    assert ran.attempted > 10 and not ran.failed


def test_what_programs_may_rely_on_is_told_and_typed():
    page = read(ROOT / "advisor" / "README.md")
    for name in advisor.__all__:
        thing = getattr(advisor, name)
        assert f"advisor.{name}" in page and thing.__doc__, name
        if inspect.isfunction(thing):
            stated = inspect.signature(thing)
            assert stated.return_annotation is not stated.empty, name
            assert all(one.annotation is not one.empty for one in stated.parameters.values()), name
    assert (ROOT / "advisor" / "py.typed").exists()


# ---- imports go one way


MODULES = sorted(
    ".".join(path.relative_to(ROOT / "advisor").with_suffix("").parts)
    for path in (ROOT / "advisor").rglob("*.py")
    if path.stem != "__init__"
)


def _path(name):
    return ROOT / "advisor" / f"{name.replace('.', '/')}.py"


@cache
def _tree(name):
    return ast.parse(_path(name).read_text(encoding="utf-8"))


@cache
def _imports(*, to_name_types=True):
    """Module -> modules of the program that it imports, anywhere in it, or only where that is not just to name types."""
    found = {}
    for name in MODULES:
        wanted = set()
        nodes = [node for node in _tree(name).body if to_name_types or not _only_names_types(node)]
        for node in itertools.chain.from_iterable(map(ast.walk, nodes)):
            if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] == "advisor":
                module = node.module.removeprefix("advisor").lstrip(".")
                wanted |= {module} | {f"{module}.{alias.name}".lstrip(".") for alias in node.names}
        found[name] = wanted & set(MODULES) - {name}
    return found


def _only_names_types(node):
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


TREE = re.search(r"<!-- tree -->\n(.*?)<!-- end -->", read(DEVELOPERS), re.S)[1]
FOLDERS = re.findall(r"(?m)^    (\w+)/ +[A-Z]", TREE)


def test_every_folder_of_the_program_stands_in_the_tree():
    inside = {path.parent.name for path in (ROOT / "advisor").glob("*/*.py")}
    assert sorted(FOLDERS) == sorted(inside) and len(set(FOLDERS)) == len(FOLDERS)


@pytest.mark.parametrize("name", MODULES)
def test_nothing_imports_from_further_down(name):
    folder = name.partition(".")[0]
    allowed = {*FOLDERS[: FOLDERS.index(folder) + 1]} if folder in FOLDERS else {*FOLDERS}
    strange = {other for other in _imports()[name] if other.partition(".")[0] not in allowed}
    assert not strange, f"{name} imports {', '.join(sorted(strange))}, which lies below {folder}"


def test_no_two_modules_import_each_other():
    sorter = graphlib.TopologicalSorter(_imports(to_name_types=False))
    sorter.prepare()  # CycleError names the circle


PRINTING = ("print", "exit", "sys.exit", "input", "sys.stdout", "sys.stderr", "sys.stdin")


def test_only_the_command_line_prints():
    for name in _imports():
        for node in ast.walk(_tree(name)):
            if isinstance(node, ast.Call | ast.Attribute):
                used = ast.unparse(node.func if isinstance(node, ast.Call) else node)
                assert name == "cli" or used not in PRINTING, f"{name}: {used}"
