"""The nouns: what is to be made, of what, and what one craft hands to another; kinds of article."""
