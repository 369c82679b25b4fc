"""What rows written as strings share."""

from __future__ import annotations

from django.utils.safestring import SafeString

# stands where a row has nothing to show
NOTHING = SafeString("")
