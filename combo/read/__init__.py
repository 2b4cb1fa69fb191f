"""Text to a Job and part tables, or Problems. The only place that meets foreign words."""
