"""One module a change of the tables, never edited once released."""
