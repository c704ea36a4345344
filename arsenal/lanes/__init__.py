"""Houses, their conditions, and which of them a customer meets."""
