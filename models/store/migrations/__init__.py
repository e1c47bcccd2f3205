"""Alembic scripts; run by ``Store.open``, never by hand."""
