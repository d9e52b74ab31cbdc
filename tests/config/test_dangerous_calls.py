"""What the program never calls, or in one place alone, which then is named here with its reason."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("calc", "materials", "orders", "production", "config")

CALLED = {
    "text run as code": ({"eval", "exec", "compile", "__import__"}, {}),
    "a shell or another program": (
        {"os.system", "os.popen", "subprocess.run", "subprocess.Popen", "subprocess.call", "subprocess.check_output"},
        {
            "orders/importing/workbooks.py": "the reader of spreadsheets, its words all our own",
            "production/backup/postgresql.py": "pg_dump and pg_restore, their words our own and from the settings",
        },
    ),
    "SQL put together": ({"raw", "extra", "RawSQL"}, {}),
    "text taken for safe HTML": (
        {"mark_safe"},
        {
            "orders/templatetags/trade.py": "names of our own after escaping",
            "production/templatetags/kept.py": "parts as a template has escaped them, and tokens of ours",
            "production/templatetags/desk.py": "drawings, which escape every text",
            "production/views/day.py": "charts, which escape every text",
            "production/views/station_blind.py": "drawings, which escape every text",
        },
    ),
    "templates made of text": ({"from_string", "Template"}, {}),
    "broken hashes": (
        {"md5", "sha1", "hashlib.md5", "hashlib.sha1"},
        {
            "orders/search.py": "tells one sought text from another; the database's own MD5 makes the same",
            "orders/breached.py": "lists of stolen passwords have their SHA-1; it is kept nowhere",
        },
    ),
}
IMPORTED = {
    "objects read back as code": ({"pickle", "marshal", "shelve", "dill", "yaml"}, set()),
    "other servers asked": (
        {"requests", "httpx", "urllib.request", "http.client", "aiohttp", "ftplib", "telnetlib"},
        set(),
    ),
    "XML read": ({"lxml", "xml.etree", "xml.sax", "xml.dom"}, {"orders/importing/sheet_reader.py"}),
    "LDAP, XPath, memcache, JNDI": ({"ldap", "ldap3", "memcache", "pymemcache", "pylibmc"}, set()),
    "chance that can be guessed": ({"random"}, {"production/management/commands/seed_demo.py"}),
}

RE = {f"re.{name}" for name in ("compile", "match", "fullmatch", "search", "sub", "split", "findall", "finditer")}


def trees():
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            yield str(path.relative_to(ROOT)), ast.parse(path.read_text())


def name_of(call):
    """How a call is written: 'eval', 'subprocess.run', or the last part of a method, such as 'raw'."""
    if isinstance(call.func, ast.Name):
        return {call.func.id}
    if isinstance(call.func, ast.Attribute):
        owner = call.func.value.id if isinstance(call.func.value, ast.Name) else ""
        return {call.func.attr, f"{owner}.{call.func.attr}"}
    return set()


def calls(tree, wanted):
    found = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    # re.compile makes no code.
    return [node for node in found if name_of(node) & wanted and (wanted is RE or "re.compile" not in name_of(node))]


def imports(tree, wanted):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [each.name for each in node.names]
        elif isinstance(node, ast.ImportFrom) and not node.level:
            names = [node.module, *(f"{node.module}.{each.name}" for each in node.names)]
        else:
            continue
        yield from (name for name in names if any(name == each or name.startswith(f"{each}.") for each in wanted))


@pytest.mark.once
@pytest.mark.parametrize("what", CALLED)
def test_nothing_dangerous_is_called_but_where_it_is_said(what):
    wanted, allowed = CALLED[what]
    assert {path for path, tree in trees() if calls(tree, wanted)} == set(allowed)


@pytest.mark.once
@pytest.mark.parametrize("what", IMPORTED)
def test_nothing_dangerous_is_imported_but_where_it_is_said(what):
    wanted, allowed = IMPORTED[what]
    assert {path for path, tree in trees() if list(imports(tree, wanted))} == allowed


@pytest.mark.once
def test_no_program_is_started_by_a_shell():
    for path, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.keyword) and node.arg == "shell":
                raise AssertionError(f"{path}, {node.value.lineno}")


def put_in(text):
    """The values that a formatted text has put in."""
    parts = text.values if isinstance(text, ast.JoinedStr) else []
    return [each.value for each in parts if isinstance(each, ast.FormattedValue)]


@pytest.mark.once
def test_no_expression_is_built_of_what_was_typed():
    """A regular expression with a value put in escapes it, or the value is a constant of our own: in these files."""
    found = {}
    for path, tree in trees():
        for call in calls(tree, RE):
            if not all(isinstance(each, ast.Call) and "escape" in name_of(each) for each in put_in(call.args[0])):
                found[path] = ast.unparse(call.args[0])
    assert found.keys() == {"orders/typed_length.py", "production/codes.py", "production/tablets.py"}, found


def test_a_planted_call_and_import_are_found():
    planted = ast.parse(
        "import pickle\nfrom xml.etree import ElementTree\nOrder.objects.raw(text)\neval(text)\nre.compile(text)"
    )
    assert len(calls(planted, CALLED["SQL put together"][0])) == 1
    assert len(calls(planted, CALLED["text run as code"][0])) == 1
    assert list(imports(planted, IMPORTED["objects read back as code"][0])) == ["pickle"]
    assert "xml.etree" in list(imports(planted, IMPORTED["XML read"][0]))
