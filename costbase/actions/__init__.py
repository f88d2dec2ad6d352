"""What is done to the cost base: one function a use case, in files by noun."""
