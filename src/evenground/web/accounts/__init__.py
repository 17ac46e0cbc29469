"""People: who they are, what they may see and do."""
