"""The ball on the page: its plate, and what another layout would make of it."""
