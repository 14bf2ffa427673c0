"""What a person can do: check a part, plan an order, look at jobs and cards, approve factors."""
