"""What past forecasts would have said, and what came of it."""
