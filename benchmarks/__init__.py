"""Side by side with general-purpose peers: same data, one run, medians, one BLAS thread."""
