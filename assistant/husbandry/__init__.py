"""What follows from the records: due dates, mating, medicines, families, feet. Pure: data and days are arguments."""
