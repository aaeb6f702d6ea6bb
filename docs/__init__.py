"""What makes the pictures and printed blocks of the documentation."""
