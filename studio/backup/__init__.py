"""Backups of the whole site while it runs: database, files and secret, and the way back.

A backup shows one moment T. Before T a mark is set (`held`), from then on the storage keeps what it deletes;
T is a reading transaction of the database; only then the files that rows of T name are fetched, from where
they lie or from what was held. A name whose file was gone at T is of a row about to change: T is taken anew.
"""
