"""What each page says, as plain functions of goods and of rows of the ledger; no page toolkit in here."""
