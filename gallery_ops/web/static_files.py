"""How do browsers get new files after an update? By names that carry a hash of the content.

The rewriting of imports works on text: every import in a module of ours ends in a semicolon and
names the full file, else a stale file is served in silence (tests/house holds this).
"""

import re
from collections.abc import Callable
from typing import Any

from whitenoise.storage import CompressedManifestStaticFilesStorage

Converter = Callable[[re.Match[str]], str]


class HashedModuleFiles(CompressedManifestStaticFilesStorage):
    """Hashed and compressed files whose module imports point at hashed names too.

    What stands in a comment is left as it is: modules name each other's types there, in circles,
    and a circle of hashes has no end.
    """

    support_js_module_import_aggregation = True
    max_post_process_passes = 20  # one pass for each step of a chain of imports, at worst

    def url_converter(
        self, name: str, hashed_files: dict[str, str], template: str | None = None
    ) -> Converter:
        convert = super().url_converter(name, hashed_files, template)

        def outside_comments(match: re.Match[str]) -> Any:
            is_comment = name.endswith(".js") and in_comment(match.string, match.start())
            return match.group() if is_comment else convert(match)

        return outside_comments


def in_comment(text: str, position: int) -> bool:
    """True inside `/** ... */` and behind `//` at the start of a line.

    Comments that begin with a single star are not looked for: "image/*" is a string.
    """
    if text.rfind("/**", 0, position) > text.rfind("*/", 0, position):
        return True
    line = text[text.rfind("\n", 0, position) + 1 : position]
    # The map at the end of a vendored file is itself a comment that must be rewritten.
    return line.lstrip().startswith("//")
