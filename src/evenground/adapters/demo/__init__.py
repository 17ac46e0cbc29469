"""The invented demo farm: its plan, its field outline, and a season simulated after the strips were drawn."""
