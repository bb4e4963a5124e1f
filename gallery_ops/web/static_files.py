"""How do browsers get new files after an update? By names that carry a hash of the content.

The rewriting of imports works on text: every import in a module of ours ends in a semicolon and
names the full file, else a stale file is served in silence (tests/house holds this).
"""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedModuleFiles(CompressedManifestStaticFilesStorage):
    """Hashed and compressed files whose module imports point at hashed names too."""

    support_js_module_import_aggregation = True
    max_post_process_passes = 25  # a chain of imports takes a pass a link; Django stops at five
