"""Pictures for the screen: drawn by classes, coloured by a stylesheet."""
