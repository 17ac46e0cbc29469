"""The outside: trial folders, CSV, GeoJSON, charts, HTML, PDF."""
