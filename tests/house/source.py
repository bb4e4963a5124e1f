"""Where is the hand-written code? Shared by the checks of this folder."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
ROOMS = ("gallery_ops", "tanks", "inventory", "maintenance")
NOT_OURS = {"migrations", "vendor", "__pycache__", "node_modules"}


@dataclass(frozen=True)
class Breach:
    """One place that breaks a rule."""

    path: str
    line: int
    what: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.what}"


def files(root: Path, ending: str, folders: tuple[str, ...] = ROOMS) -> Iterator[Path]:
    """Hand-written files with `ending` below the given folders of `root`."""
    for folder in folders:
        for path in sorted((root / folder).rglob(f"*{ending}")):
            if not NOT_OURS & set(path.relative_to(root).parts):
                yield path


def trees(root: Path, folders: tuple[str, ...] = ROOMS) -> Iterator[tuple[Path, ast.Module]]:
    """Each Python file, as a path below `root`, with its syntax tree."""
    for path in files(root, ".py", folders):
        yield path.relative_to(root), ast.parse(path.read_text(encoding="utf-8"), str(path))


def plant(root: Path, path: str, text: str) -> Path:
    """Write a bad example below `root`, to show that a check can fail."""
    target = root / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(text, encoding="utf-8")
    return target
