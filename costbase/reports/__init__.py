"""Reads the cost base for showing."""
