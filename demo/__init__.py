"""The demo plant: an invented cane-sugar mill with known wear rates."""
