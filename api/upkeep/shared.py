"""A name that has to be known before the metrics are loaded."""

#: Where the processes of one service keep their counts; a variable of prometheus-client, read when it is imported.
SHARED = "PROMETHEUS_MULTIPROC_DIR"
