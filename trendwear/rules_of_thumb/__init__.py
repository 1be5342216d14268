"""Rules of thumb for clearances, side by side with their sources, and the limits they propose."""
