"""Https on the farm network, pairing of phones."""
