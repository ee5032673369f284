"""What a decision rule risks: accepting what does not conform, rejecting what does."""
