"""Everything that a person or a program touches: HTTP and the command line."""
