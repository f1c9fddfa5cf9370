"""What is printed: directions card, label, bench sheet and shopping list of a batch, as PDF.

Templates get their text as data, so that nothing a person entered is ever read as markup.
"""
