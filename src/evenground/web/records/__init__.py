"""Records of any kind: list, add, correct, table in and out."""
