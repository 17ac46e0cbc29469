"""What two or more steps share: words, units, errors, tables, and the frozen records of plan and field."""
