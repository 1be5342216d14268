"""One clearance drawn over time."""
