"""Gathered reeds and lines become rows of the database, in lots of two thousand."""
