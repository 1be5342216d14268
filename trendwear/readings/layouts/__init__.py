"""Workbooks as shops lay them out, to the same rows as a long table."""
