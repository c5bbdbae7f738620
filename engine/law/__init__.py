"""What is in force: packs read, their edits carried out, the edition by place and permit date."""
