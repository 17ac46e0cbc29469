"""What is it worth, and what next year: money, advice, and the verdict where the steps meet."""
