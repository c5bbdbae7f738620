"""What an edit can do: a verb is one file, and all that is known of it stands there."""
