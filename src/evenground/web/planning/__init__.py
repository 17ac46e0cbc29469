"""The plan: question, methods side by side, machines, money, herd, season."""
