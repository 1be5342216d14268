"""Whether readings, trends and verdicts deserve trust: what looks wrong, named, never dropped."""
