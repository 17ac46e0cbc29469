"""The commands: parse, call, print; no arithmetic."""
