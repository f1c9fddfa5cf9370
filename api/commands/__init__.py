"""The command line: one file per subject, and what they share."""
