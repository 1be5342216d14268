"""Readings that were computed, not read: a bore less a journal, a float from two pushes."""
