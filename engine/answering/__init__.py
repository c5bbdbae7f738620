"""One job inspected, and the answers to why and whynot, as plain data."""
