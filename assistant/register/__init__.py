"""The register: which animals there are, and which of them a keeper means."""
