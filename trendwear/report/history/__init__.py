"""What is stored of a machine, where it came from and what was changed: lines and files."""
