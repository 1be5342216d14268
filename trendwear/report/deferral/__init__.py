"""The deferral sheet: two pages for those who are asked to put an overhaul off."""
