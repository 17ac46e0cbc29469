"""Forms of dates in English."""
