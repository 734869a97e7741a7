"""`elbowroom weeks`: counts, plans, returns, retests and teams."""
