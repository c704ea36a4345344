"""People: customers, their fittings and the deliveries measured in them."""
