"""How static files are named after their content when they are collected."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class ModuleStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # untyped
    """Rewrites the imports between our JavaScript modules as well.

    A module's name depends on the names of those that it imports, so each pass settles one
    more step of the longest chain of imports.
    """

    support_js_module_import_aggregation = True
    max_post_process_passes = 20
