"""The workspace in the browser: pages over the bench, for the laptop and the phones beside the test range."""
