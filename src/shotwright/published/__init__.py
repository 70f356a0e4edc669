"""Published check values, run by the tests and by `shotwright verify`."""
