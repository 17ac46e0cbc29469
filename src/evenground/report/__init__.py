"""Build the document tree of a verdict; draw nothing."""
