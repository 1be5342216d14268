"""The inspection sheet: printed, and filled in by hand at the bench."""
