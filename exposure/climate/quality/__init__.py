"""What refuses a record at the door, and what is doubtful about it."""
