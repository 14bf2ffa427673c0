"""The only readers and writers of files from outside."""
