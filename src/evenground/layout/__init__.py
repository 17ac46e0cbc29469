"""Where do the strips go, which gets which method, and can this field answer the question at all?"""
