"""What is printed: the traveller and its charts."""
