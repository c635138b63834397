"""Who listens on a holding, to which sentences, and in which processes or machines."""
