"""Plants from a photograph taken straight down: arrays in, plants out."""
