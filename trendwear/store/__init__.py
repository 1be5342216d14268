"""Readings, registers and their record in one DuckDB file."""
