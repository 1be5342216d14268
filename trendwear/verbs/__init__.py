"""One module a command, or a few that belong together; `trendwear.cli` gathers them."""
