"""The balls a customer owns and how each of them is drilled."""
