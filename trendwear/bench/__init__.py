"""The bench: what is taken along when a machine is opened."""
