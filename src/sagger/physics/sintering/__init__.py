"""How a powder body densifies, shrinks and sags. All SI."""
