"""Tables of animals as files: text in any encoding, workbooks, and what the keeper said of their headings."""
