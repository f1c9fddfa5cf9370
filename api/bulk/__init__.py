"""Many requests over many shelves at once, on the processes of a cluster."""
