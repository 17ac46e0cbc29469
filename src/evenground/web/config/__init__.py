"""Settings, addresses and the entry for a web server."""
