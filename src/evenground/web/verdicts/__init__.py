"""Verdict, adviser's page, report and papers."""
