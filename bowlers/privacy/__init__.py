"""All that is kept of one customer: given out, or erased."""
