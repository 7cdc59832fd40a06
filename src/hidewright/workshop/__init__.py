"""What a maker asks for: a small graph evaluator and one file per chain of crafts."""
