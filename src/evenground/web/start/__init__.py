"""The way in: three doors, the list of trials, the overview of one, next year's trial."""
