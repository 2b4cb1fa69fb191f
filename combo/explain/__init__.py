"""What stands in the way of a better build, and what moving it would buy."""
