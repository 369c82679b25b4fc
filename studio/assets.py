"""Static files with hashed names, imports between ES modules included."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    # without this, an ES module's import of another keeps the name without a hash
    support_js_module_import_aggregation = True
