"""Suggestions: themes read, best threes found, ideas told with reasons."""
