"""Signed records leave the program here: JSON with a published schema, and a table for a spreadsheet."""
