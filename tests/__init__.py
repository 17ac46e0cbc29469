"""Tests of evenground; the folders mirror src/evenground."""
