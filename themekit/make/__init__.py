"""What follows from a chosen idea; so far its cautions."""
