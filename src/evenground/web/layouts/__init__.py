"""Layouts compared and chosen, the draw."""
