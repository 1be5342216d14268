"""How past forecasts did: tables, words and charts."""
