"""Pages about a studio and its people, one file a page."""
