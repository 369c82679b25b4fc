"""Somebody's own list of reeds, read: bytes -> rows -> columns of known meaning -> reeds and numbers."""
