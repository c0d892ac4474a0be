"""What is asked, and when: sections, items, conditions."""
