"""Small-sample statistics that know nothing of robots."""
