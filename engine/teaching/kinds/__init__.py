"""What a question can ask: a kind is one file, and all that is known of it stands there."""
