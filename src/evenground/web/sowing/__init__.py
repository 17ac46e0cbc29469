"""Settings, cab cards, as sown."""
