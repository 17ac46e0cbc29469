"""Hands a drawn trial over: one module for each format another program or machine reads."""
