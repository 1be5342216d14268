"""Another case beside today's plan, for people: tables, words, a chart, files."""
