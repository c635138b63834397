"""A session as it happens: each remark from its sound to the record and the answer, live or from a recording."""
