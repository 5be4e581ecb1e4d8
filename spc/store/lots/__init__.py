"""A lot and all that is known of it: results, control samples, verdicts and dispositions."""
