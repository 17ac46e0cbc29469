"""The field: upload, draw on a map, walk round it."""
