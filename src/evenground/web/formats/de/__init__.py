"""Forms of dates in German."""
