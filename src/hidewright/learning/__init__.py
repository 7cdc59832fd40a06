"""What the workshop's own readings say of its laser, boards, leather and hands."""
