"""Trials in and out as zip, records as tables, backup of the farm."""
