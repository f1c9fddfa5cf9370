"""The baker's own things, and the built-in knowledge."""
