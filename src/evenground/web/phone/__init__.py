"""The phone page and the end point that takes its entries."""
