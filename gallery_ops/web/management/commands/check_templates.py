"""Does every template compile, keep to the browser policy and use the words of the trade?

Looks at the templates, and for words also at what scripts and guides show. Each finding names the
file, the line, what stands there and what to do.
"""

from __future__ import annotations

import re
from argparse import ArgumentParser
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.template import TemplateSyntaxError, engines

POLICY = (
    (r"\sstyle\s*=", "style= is blocked by the policy: use a class or an SVG attribute"),
    (r"<style\b", "<style> is blocked by the policy: use a file under static/web/css"),
    (r"<script\b(?![^>]*\ssrc=)(?![^>]*type=\"application/json\")", "a <script> without src"),
    (r"\son[a-z]+\s*=", "on...= is blocked by the policy: listen in a module"),
    (r"\shx-on[:\-\w]*\s*=", "hx-on is off: listen in a module"),
    (r"[\"']js:", "js: values are off: send a field"),
    (r"javascript:", "javascript: is blocked by the policy"),
    (r"\|\s*safe\b", "|safe trusts what a person may have typed: use a tag that escapes"),
    (r"\{%\s*autoescape\s+off", "autoescape off trusts what a person may have typed"),
)
# Words that promise too much, belong to other trades' tools, or are no words of a carer.
EVERYWHERE = (
    "safe|safely|smart|AI|KPI|KPIs|SLA|SKU|GRN|par level|dead stock|health score|ticket|tickets|"
    "work order|specimen|specimens|accession|bioload|cycled|burn|my tanks|livestock inventory|"
    "parameters log|traffic light|red tank|green tank|discrepancy|submit"
)
SOMEWHERE = {
    "round": "OK|sync|complete all",
    "outbox": "conflict|merge|reject|sync",
    "held": "conflict|merge|reject|sync",
    "first_minute": "alert|protocol|please|acknowledge|go in to help",
    "cards": "alert|protocol|please|acknowledge|go in to help",
}
SKIPPED = "vendor"


@dataclass(frozen=True)
class Finding:
    path: Path
    line: int
    what: str

    def text(self, base: Path) -> str:
        shown = self.path.relative_to(base) if self.path.is_relative_to(base) else self.path
        return f"{shown}:{self.line}: {self.what}"


class Command(BaseCommand):
    help = "Compile every template; find inline scripts and styles and words that we avoid."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folders", nargs="*", type=Path, help="default: the program's own")

    def handle(self, *args: Any, folders: list[Path], **options: Any) -> None:
        base = Path(settings.BASE_DIR)
        roots = folders or [base / "gallery_ops", base / "maintenance" / "catalogue"]
        findings = [finding for root in roots for finding in look_through(root)]
        if findings:
            raise CommandError("\n".join(finding.text(base) for finding in findings))
        count = sum(1 for root in roots for _ in _files(root, ".html", ".txt"))
        self.stdout.write(f"{count} templates compile and keep to policy and words.")


def look_through(root: Path) -> list[Finding]:
    """All findings below `root`, in the order of the files."""
    found: list[Finding] = []
    for path in _files(root, ".html", ".txt"):
        source = path.read_text(encoding="utf-8")
        found += [*_compile(path, source), *_policy(path, source)]
        found += _words(path, _visible(source))
    for path in _files(root, ".js"):
        found += _words(path, _sentences(path.read_text(encoding="utf-8")))
    for path in _files(root, ".md"):
        found += _words(path, path.read_text(encoding="utf-8"))
    return found


def _files(root: Path, *endings: str) -> Iterator[Path]:
    for path in sorted(root.rglob("*")):
        shown = path.suffix in endings and SKIPPED not in path.parts and path.is_file()
        in_templates = "templates" in path.parts or path.suffix not in {".html", ".txt"}
        if shown and in_templates:
            yield path


def _line(source: str, position: int) -> int:
    return source.count("\n", 0, position) + 1


def _compile(path: Path, source: str) -> Iterator[Finding]:
    try:
        engines["django"].from_string(source)
    except TemplateSyntaxError as trouble:
        yield Finding(path, 1, f"does not compile: {trouble}")


def _policy(path: Path, source: str) -> Iterator[Finding]:
    plain = _blank(r"\{#.*?#\}|\{% comment.*?endcomment %\}", source)
    for pattern, remedy in POLICY:
        for match in re.finditer(pattern, plain, re.IGNORECASE):
            yield Finding(path, _line(plain, match.start()), remedy)


def _words(path: Path, text: str) -> Iterator[Finding]:
    groups = [EVERYWHERE] + [words for part, words in SOMEWHERE.items() if part in _names(path)]
    for words in groups:
        for match in re.finditer(rf"(?<![\w-])(?:{words})(?![\w-])", text, re.IGNORECASE):
            if match.group().lower() in {"ai", "ok"} and not match.group().isupper():
                continue  # only the capitals are the word meant
            yield Finding(
                path, _line(text, match.start()), f"the word {match.group()!r} is avoided"
            )


def _names(path: Path) -> set[str]:
    return {*path.parts, path.stem}


def _blank(pattern: str, source: str) -> str:
    """`source` with every match made of blanks, so that line numbers stay."""
    return re.sub(
        pattern, lambda match: re.sub(r"[^\n]", " ", match.group()), source, flags=re.DOTALL
    )


def _visible(source: str) -> str:
    """What people read: texts, titles, labels, hints; also the words inside translation tags."""
    source = _blank(r"\{#.*?#\}|\{% comment.*?endcomment %\}", source)
    source = re.sub(r"\{%\s*(?:trans|translate)\s+\"([^\"]*)\"[^%]*%\}", r"\1", source)
    source = _blank(r"\{%.*?%\}|\{\{.*?\}\}", source)
    read = r"(?:title|alt|placeholder|aria-label|aria-description)=\"([^\"]*)\""

    def texts(tag: re.Match[str]) -> str:
        words = " ".join(re.findall(read, tag.group()))
        return words + "\n" * tag.group().count("\n")

    return re.sub(r"<[^>]*>", texts, source, flags=re.DOTALL)


def _sentences(source: str) -> str:
    """The quoted texts of a script that hold a blank, as people would read them."""
    source = _blank(r"/\*.*?\*/|(?<!:)//[^\n]*", source)
    kept = [" "] * len(source)
    for index, char in enumerate(source):
        if char == "\n":
            kept[index] = "\n"
    for match in re.finditer(r"([\"'`])((?:\\.|(?!\1)[^\\\n])*)\1", source):
        if " " in match.group(2):
            kept[match.start(2) : match.end(2)] = match.group(2)
    return "".join(kept)
