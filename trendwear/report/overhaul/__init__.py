"""The plan of overhauls: tables, words and files."""
