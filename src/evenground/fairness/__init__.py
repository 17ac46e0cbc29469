"""What differed between the methods besides the method itself."""
