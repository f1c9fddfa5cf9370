"""Several kits planned at once from one shelf: the joint plan, and using jars up."""
