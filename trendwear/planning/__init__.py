"""From forecasts to an overhaul: its latest date, its window, what is renewed and ordered."""
