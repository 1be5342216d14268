"""Parts: where each sat and how long, how fast it wore, and how long its like last."""
