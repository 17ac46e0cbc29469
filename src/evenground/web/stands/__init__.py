"""The stand: counts, spacing, depth, photographs."""
