"""An issued plan held against what holds now: words, tables and files."""
