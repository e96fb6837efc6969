"""Migrations: how a store of an earlier version becomes one of this version. Rule: no migration alters a kept row.

A migration is never edited after a release, and names its tables itself, since those in tables.py go on.
"""
