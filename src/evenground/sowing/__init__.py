"""What to set on each machine and what to buy."""
