"""Where the strips go, which gets which method, and whether this field can answer the question at all."""
