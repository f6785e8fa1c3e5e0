"""Tests that drive a real browser against the running portal with the demo firm in it."""
