"""What is reported beside the files, as JSON."""
