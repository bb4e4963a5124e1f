"""Do only services write, and does nothing happen behind a reader's back?

What the import contracts cannot show, found in the syntax trees. It is a net with holes, not a
proof: tests/conftest.py also watches real writes while pages, endpoints and jobs run.
"""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.house.source import HOUSE, Breach, plant, trees

pytestmark = pytest.mark.once

ALWAYS_A_WRITE = {
    *("bulk_create", "bulk_update", "get_or_create", "update_or_create"),
    *("acreate", "asave", "adelete", "aupdate", "abulk_create", "aget_or_create"),
}
ROWS = {
    "objects",
    "_default_manager",
    "_base_manager",
    "filter",
    "exclude",
    "all",
    "select_for_update",
}
NO_ROWS = {"session"}
# Django's createsuperuser asks the manager of the user model for this one.
ALLOWED = {("gallery_ops/kernel/models/person.py", "save")}
MESSAGES = {"delay", "apply_async", "send_task"}
SIGNALS = {
    *("pre_init", "post_init", "pre_save", "post_save", "pre_delete", "post_delete"),
    *("m2m_changed", "user_logged_in", "user_logged_out", "request_started", "request_finished"),
}


def _names(node: ast.AST) -> set[str]:
    """Every name and attribute in an expression."""
    walked = list(ast.walk(node))
    return {n.attr for n in walked if isinstance(n, ast.Attribute)} | {
        n.id for n in walked if isinstance(n, ast.Name)
    }


def _method_calls(tree: ast.Module) -> Iterator[tuple[ast.Call, str, ast.expr]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            yield node, node.func.attr, node.func.value


def _is_write(call: ast.Call, method: str, on: ast.expr) -> bool:
    names = _names(on)
    if method in ALWAYS_A_WRITE:
        return True
    if method in {"create", "update", "raw"}:
        return bool(ROWS & names)
    if method == "save":
        # A picture or a workbook is saved to somewhere: it has a place as its first argument.
        return not call.args and not NO_ROWS & names
    if method == "delete":
        return bool(ROWS & names) or not (call.args or call.keywords)
    if method in {"execute", "executemany"} and call.args:
        first = call.args[0]
        text = first.value if isinstance(first, ast.Constant) else ""
        verb = str(text).lstrip().split(" ")[0].upper()
        return verb in {"INSERT", "UPDATE", "DELETE", "REPLACE"}
    return False


def writes_outside_services(root: Path) -> Iterator[Breach]:
    for path, tree in trees(root):
        if "services" in path.parts or path.name == "guards.py":
            continue
        for call, method, on in _method_calls(tree):
            if _is_write(call, method, on) and (str(path), method) not in ALLOWED:
                yield Breach(str(path), call.lineno, f".{method}() writes; call a service")


def messages_outside_the_kernel(root: Path) -> Iterator[Breach]:
    for path, tree in trees(root):
        if path.parts[:2] == ("gallery_ops", "kernel"):
            continue
        for call, method, _ in _method_calls(tree):
            if method in MESSAGES:
                yield Breach(str(path), call.lineno, f".{method}(): want_work() wakes the worker")


def _listens(mark: ast.expr) -> bool:
    """True for `@receiver(post_save, ...)` and its kin."""
    if not (isinstance(mark, ast.Call) and "receiver" in _names(mark.func)):
        return False
    return any(SIGNALS & _names(argument) for argument in mark.args)


def own_signals(root: Path) -> Iterator[Breach]:
    for path, tree in trees(root):
        for call, method, on in _method_calls(tree):
            if method == "connect" and SIGNALS & _names(on):
                yield Breach(str(path), call.lineno, "a signal for a rule of our own")
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and any(map(_listens, node.decorator_list)):
                yield Breach(str(path), node.lineno, "a signal for a rule of our own")


def own_save_methods(root: Path) -> Iterator[Breach]:
    for path, tree in trees(root):
        if "models" not in path.parts:
            continue
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                for part in node.body:
                    if isinstance(part, ast.FunctionDef) and part.name in {"save", "delete"}:
                        yield Breach(
                            str(path), part.lineno, f"{node.name}.{part.name}() overridden"
                        )


def inserts_of_movements(root: Path) -> list[str]:
    """Functions that make a row of the ledger; there must be one."""
    found = []
    for path, tree in trees(root):
        for function in ast.walk(tree):
            if not isinstance(function, ast.FunctionDef):
                continue
            for _, method, on in _method_calls(ast.Module(body=function.body, type_ignores=[])):
                if method in {"create", "bulk_create"} and {"Movement", "objects"} <= _names(on):
                    found.append(f"{path}:{function.name}")
    return found


Check = Callable[[Path], Iterator[Breach]]
CHECKS: tuple[Check, ...] = (
    writes_outside_services,
    messages_outside_the_kernel,
    own_signals,
    own_save_methods,
)

BAD = [
    (writes_outside_services, "gallery_ops/web/pages/a.py", "Tank.objects.create(code='T01')"),
    (writes_outside_services, "gallery_ops/web/pages/a.py", "Tank.objects.filter(a=1).update(b=2)"),
    (writes_outside_services, "gallery_ops/api/views/a.py", "tank.save()"),
    (writes_outside_services, "gallery_ops/api/views/a.py", "serializer.save()"),
    (writes_outside_services, "tanks/queries/a.py", "tank.delete()"),
    (writes_outside_services, "tanks/models/a.py", "rows.bulk_create([])"),
    (writes_outside_services, "inventory/jobs.py", "cursor.execute('DELETE FROM inventory_use')"),
    (messages_outside_the_kernel, "inventory/services/a.py", "run_work.delay(3)"),
    (messages_outside_the_kernel, "gallery_ops/web/pages/a.py", "app.send_task('x')"),
    (own_signals, "tanks/models/a.py", "@receiver(post_save, sender=Tank)\ndef f(**k): ..."),
    (own_signals, "tanks/apps.py", "post_delete.connect(f)"),
    (own_save_methods, "tanks/models/a.py", "class Tank(Model):\n    def save(self): ..."),
]
GOOD = [
    (writes_outside_services, "tanks/services/a.py", "Tank.objects.create(code='T01')"),
    (writes_outside_services, "tanks/queries/a.py", "words.update({'a': 1})"),
    (writes_outside_services, "gallery_ops/web/pages/a.py", "image.save(buffer, 'PNG')"),
    (writes_outside_services, "gallery_ops/web/pages/a.py", "cache.delete('key')"),
    (messages_outside_the_kernel, "gallery_ops/kernel/services/a.py", "run_work.delay(3)"),
    (own_signals, "gallery_ops/kernel/apps.py", "post_migrate.connect(install)"),
    (own_save_methods, "gallery_ops/web/forms/a.py", "class F(Form):\n    def save(self): ..."),
]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_the_house_keeps_the_rule(check: Check) -> None:
    assert not [str(breach) for breach in check(HOUSE)]


@pytest.mark.parametrize(("check", "path", "text"), BAD)
def test_a_breach_is_found(check: Check, path: str, text: str, tmp_path: Path) -> None:
    plant(tmp_path, path, text + "\n")
    assert [breach.path for breach in check(tmp_path)] == [path]


@pytest.mark.parametrize(("check", "path", "text"), GOOD)
def test_what_is_allowed_is_let_through(check: Check, path: str, text: str, tmp_path: Path) -> None:
    plant(tmp_path, path, text + "\n")
    assert not list(check(tmp_path))


def test_one_function_posts_to_the_ledger() -> None:
    found = inserts_of_movements(HOUSE)
    assert [place.split(":")[0] for place in found] == ["inventory/services/ledger.py"], found


def test_a_second_way_into_the_ledger_is_found(tmp_path: Path) -> None:
    text = "def quick():\n    return Movement.objects.create()\n"
    plant(tmp_path, "inventory/services/use.py", text)
    assert inserts_of_movements(tmp_path) == ["inventory/services/use.py:quick"]
