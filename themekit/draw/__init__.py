"""Pictures from the data: SVG text drawn by code, the same input giving the same bytes."""
