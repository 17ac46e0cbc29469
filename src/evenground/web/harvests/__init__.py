"""Harvest day: loads, weighings, joins, samples."""
