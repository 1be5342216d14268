"""From wear rates to hours, dates and chances."""
