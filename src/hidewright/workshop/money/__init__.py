"""What an article costs and what to ask for it, reckoned and shown."""
