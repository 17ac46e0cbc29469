"""Mathematics that knows no maize: values in, values out; numpy and scipy only."""
