"""Static files with hashed names, the imports between our own ES modules included."""

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

# Django rewrites imports by pattern, in comments too: a type comment of a library's script would be taken
# for an import of a file that is not shipped. So only below our own folder; theirs keep what they hold
_OUR_SCRIPTS = "js/*.js"


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    patterns = (
        *HashedFilesMixin.patterns,
        (_OUR_SCRIPTS, HashedFilesMixin._js_module_import_aggregation_patterns[1]),  # type: ignore[attr-defined]
    )
