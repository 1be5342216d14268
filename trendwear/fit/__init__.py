"""From histories to segments and wear rates."""
