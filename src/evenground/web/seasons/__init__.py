"""Season, agenda, crop walk, fairness."""
