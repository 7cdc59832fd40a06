"""When each step of a batch is done, by whom, and when the batch can be finished."""
