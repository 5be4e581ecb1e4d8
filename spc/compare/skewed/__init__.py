"""Values that no normal curve describes: ranks, shares, variances, percentiles, skewed means."""
