"""What the shop's own work costs: one list, which tickets are filled in from."""
