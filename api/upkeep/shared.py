"""Names of what the processes of one service share."""

#: Where the processes of one service keep their counts; a variable of prometheus-client, read when it is imported.
SHARED = "PROMETHEUS_MULTIPROC_DIR"
#: Where they keep the pages that answered forms.
ANSWERED = "THEMEKIT_ANSWERED"
