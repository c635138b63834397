"""The session: what is on the table, what was recorded, what is open. Pure logic; time and ids are arguments."""
