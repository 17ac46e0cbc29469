"""Is there a difference, and how sure is that? Values per strip in, comparison out."""
