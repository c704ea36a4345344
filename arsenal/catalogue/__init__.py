"""Ball models with their figures by weight, and the shelf."""
