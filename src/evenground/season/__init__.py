"""What weather the crop got."""
