"""Whether the crop came up as planned."""
