"""Tables and charts for people."""
