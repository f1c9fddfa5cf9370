"""Looking after the service: request ids, the log, the metrics, and whether it is ready."""
