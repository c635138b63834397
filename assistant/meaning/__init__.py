"""What words mean: readings to parts, typed text to words, animals to the words they are called by."""
