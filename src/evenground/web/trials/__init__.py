"""The store: farms, trials, plan versions, draws, records, files. The same operations as the trial folder."""
