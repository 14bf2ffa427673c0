"""What is handed on: frozen, light, no verbs."""
