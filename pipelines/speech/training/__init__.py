"""How the update of the speech weights was made: drawn sentences, synthesised, under drawn noise."""
