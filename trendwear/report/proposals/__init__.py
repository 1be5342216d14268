"""Limits that rules of thumb propose: lines and the sheet to load."""
