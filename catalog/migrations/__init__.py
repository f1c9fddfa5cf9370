"""Numbered steps that bring a database up to date; data are upgraded, never dropped."""

#: The newest step; a test holds it equal to the newest file in versions/.
HEAD = "0009"
#: The table that tells which step a database has reached; its presence marks it as ours.
VERSION_TABLE = "themekit_version"
