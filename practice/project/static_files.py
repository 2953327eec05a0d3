"""How static files are stored: compressed, each under a name with its hash."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class StaticFiles(CompressedManifestStaticFilesStorage):
    """Also follows the imports between our own JavaScript modules."""

    support_js_module_import_aggregation = True
