"""Kept files in a bucket of an S3-compatible service, where the settings name one.

A file comes to whoever works on it as bytes: the storage fetches it whole, and a child of the worker gets the
bytes by its pipe, as from a disk. Nothing asks for a path.
"""
