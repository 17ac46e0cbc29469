"""Forms of dates on pages: the month in letters, the clock with 24 hours."""
