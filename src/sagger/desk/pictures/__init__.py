"""What a browser draws, made in processes of their own."""
