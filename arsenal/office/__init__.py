"""The owner's page: which gaps are common, and what to stock against them."""
