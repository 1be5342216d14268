"""From stored rows to segments: hours, openings, what a trend takes, where it is cut."""
