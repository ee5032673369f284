"""What leads do about records that were issued."""
