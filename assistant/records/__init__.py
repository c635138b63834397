"""What stands on record, gathered from the store: to look back at, to put right, to plan from, to hand on."""
