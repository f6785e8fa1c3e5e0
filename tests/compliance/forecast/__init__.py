"""Estimates of the next charge."""
