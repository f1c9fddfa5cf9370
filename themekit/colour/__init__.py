"""Colour: spaces, differences, harmony, names and icing tints."""
