"""What a holding's own kept remarks teach: how names and words are said, and what would be heard otherwise today."""
